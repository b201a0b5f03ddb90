import type { Again } from './rearticulation/split-rearticulations.ts';
import type { ReedSet } from './states.ts';

/** How a sound began, as far as it can be heard. */
export type EventStart = 'silence' | 'gap' | 'rearticulation' | 'slur' | 'glide';

/** A stretch of one sounding pitch, found before the harp is known. */
export interface SoundEvent {
  /** Seconds from the first sample; the event is [onsetSec, offsetSec). */
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly start: EventStart;
  /** Mean pitch of the held part as a real-valued MIDI number (A4 = 440 Hz), and in Hz. */
  readonly midi: number;
  readonly f0Hz: number;
  /** The pitch of the state that it was decoded as (see PitchState). */
  readonly expectedMidi: number;
  /** Pitch every 10 ms from the onset, as real-valued MIDI numbers; NaN where it could not be measured. */
  readonly contourMidi: Float32Array;
  /** The held part, in seconds from the first sample. */
  readonly heldSec: readonly [number, number];
  /** RMS level of the held part, in dB re full scale (20 log10). */
  readonly levelDb: number;
  /** Power of the harmonics over everything else, in dB (10 log10), median over the held part. */
  readonly harmonicityDb: number;
  /** How far the level sank between the previous event and this one, in dB; 0 if it did not, or there is no previous event. */
  readonly dipDb: number;
  /** Mean evidence for the pitch over the event (see Salience). */
  readonly strength: number;
  /** Levels of its first partials in dB re full scale; empty if not measured. */
  readonly partialsDb: Float32Array;
  /** The network's mean log odds that its pitches sound, in nats. */
  readonly soundingNats: number;
  /** The network's highest log odds that one of its pitches begins at the onset, in nats. */
  readonly onsetNats: number;
  /** The strongest evidence that the note was struck again within the event (see Stretch). */
  readonly again?: Again | undefined;
  /** Everything that sounds, if more than one pitch; `midi` is one of them. */
  readonly set?: ReedSet | undefined;
  /** For a shake: notes per second. */
  readonly notesPerSec?: number | undefined;
}

/** Time between the values of `SoundEvent.contourMidi`. */
export const CONTOUR_STEP_SEC = 0.01;
