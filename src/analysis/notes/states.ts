import type { Breath } from '../../harp/types.ts';

/** A pitch that may sound, as a real-valued MIDI number (A4 = 440 Hz), and what it costs to begin it. */
export interface PitchState {
  readonly midi: number;
  /** Nats added to the cost of a new note. */
  readonly cost: number;
}

/** Reeds that one breath can sound at once. */
export interface ReedSet {
  /** Their pitches, ascending, two to five; of a shake the two between which it goes. */
  readonly midis: readonly number[];
  /** The holes that give them, in the same order, and their breath. */
  readonly holes: readonly number[];
  readonly breath: Breath;
  readonly shake: boolean;
}

/** A stretch of frames in which one pitch, or one set of pitches, sounds: [fromFrame, toFrame). */
export interface Segment {
  /** The lowest pitch that sounds. */
  readonly midi: number;
  readonly fromFrame: number;
  readonly toFrame: number;
  /** All that sounds, where it is more than one pitch. */
  readonly set?: ReedSet | undefined;
}
