import type { ReedSet } from './states.ts';

/** How a sound began, as far as the sound alone tells. */
export type EventStart = 'silence' | 'gap' | 'rearticulation' | 'slur' | 'glide';

/** A stretch of one sounding pitch; the harp is not known yet. */
export interface SoundEvent {
  /** Seconds from the first sample; it fills [onsetSec, offsetSec). */
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly start: EventStart;
  /** Mean pitch of the held part as a real-valued MIDI number (A4 = 440 Hz), and in Hz. */
  readonly midi: number;
  readonly f0Hz: number;
  /** The expected pitch that it was decoded as (see PitchState). */
  readonly expectedMidi: number;
  /** Pitch every 10 ms from the onset on, real-valued MIDI; NaN where it could not be measured. */
  readonly contourMidi: Float32Array;
  /** The held part, in seconds from the first sample. */
  readonly heldSec: readonly [number, number];
  /** RMS level of the held part, in dB re full scale (20 log10). */
  readonly levelDb: number;
  /** Harmonics against everything else, in dB (10 log10), median over the held part. */
  readonly harmonicityDb: number;
  /** How far the sound sank between the event before and this one, in dB; 0 when it did not, or nothing was before. */
  readonly dipDb: number;
  /** Mean evidence for the pitch over the event (see Salience). */
  readonly strength: number;
  /** Level of its first partials in dB re full scale; empty when they were not measured. */
  readonly partialsDb: Float32Array;
  /** Mean log odds of the network that its pitches sound, in nats. */
  readonly soundingNats: number;
  /** The most that it says for one of its pitches beginning at the onset, log odds in nats. */
  readonly onsetNats: number;
  /** The most that speaks for its having been begun again in it, if anything does (see Stretch), in nats; negative. */
  readonly againNats?: number | undefined;
  /** All that sounds, where it is more than one pitch; `midi` is one of them. */
  readonly set?: ReedSet | undefined;
  /** Of a shake: how many notes a second. */
  readonly notesPerSec?: number | undefined;
}

export const CONTOUR_STEP_SEC = 0.01;
