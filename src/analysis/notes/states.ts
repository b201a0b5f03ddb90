import type { Breath } from '../../harp/types.ts';

/** A pitch that may sound, as a real-valued MIDI number (A4 = 440 Hz), and the cost of beginning it. */
export interface PitchState {
  readonly midi: number;
  /** Added to the cost of a new note, in nats. */
  readonly cost: number;
  /** How far below it the same reed can sound, in semitones, so that a player can slide up from there; anything if omitted. */
  readonly slidesFrom?: number;
}

/** Reeds that one breath can sound at once. */
export interface ReedSet {
  /** Their pitches, ascending, two to five; for a shake, the two that alternate. */
  readonly midis: readonly number[];
  /** The holes that give them, in the same order, and their breath. */
  readonly holes: readonly number[];
  readonly breath: Breath;
  /** How far each is bent, in semitones, in the same order; none is if omitted. */
  readonly bends?: readonly number[] | undefined;
  readonly shake: boolean;
}

/** A stretch of frames in which one pitch, or one set of pitches, sounds: [fromFrame, toFrame). */
export interface Segment {
  /** The lowest sounding pitch. */
  readonly midi: number;
  readonly fromFrame: number;
  readonly toFrame: number;
  /** Everything that sounds, if more than one pitch. */
  readonly set?: ReedSet | undefined;
}
