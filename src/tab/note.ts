import type { Ornamented } from './ornament.ts';
import type { TabNote } from './tab-note.ts';

/**
 * How a note began: after silence, at a change of breath (a short gap), by the tongue (a dip), slurred (no dip),
 * by a glide of the pitch with no attack (bends), or by a jump over holes.
 */
export type NoteStart = 'silence' | 'breath' | 'tongue' | 'slur' | 'glide' | 'jump';

/** Below this confidence a note is in doubt, and the printed tab says so (three in ten such are wrong); flag `doubtful-hole` where it is the hole. */
export const DOUBTFUL_BELOW = 0.7;

/** Another reading of the same sound, best first in a list. */
export interface NoteAlternative extends TabNote {
  /** [0, 1]; with the note's own confidence, all readings sum to at most 1. */
  readonly confidence: number;
}

/** How the pitch was held. */
export interface NoteIntonation {
  /** Spread of the held part around its own trend, in cents, ≥ 0. */
  readonly steadinessCents: number;
  /** Slope of the held part; negative falls. */
  readonly driftCentsPerSec: number;
  /** Where the note began against its held pitch, in cents; 0 when it began there, negative from below. */
  readonly scoopCents: number;
  /** How long it took to reach the held pitch, in seconds. */
  readonly scoopSec: number;
  /** How far it went past the held pitch on its way there, in cents, signed; 0 when it did not. */
  readonly overshootCents?: number | undefined;
  /** Where it went in the last 30 ms, against the held pitch, in cents. */
  readonly releaseCents?: number | undefined;
  /** Rate, and extent from the middle to the peak; missing when there was no vibrato or too little was heard. */
  readonly vibratoHz?: number | undefined;
  readonly vibratoCents?: number | undefined;
  /** For bends: how far below the unbent reed it was held, in cents, positive. */
  readonly depthCents?: number | undefined;
}

/** How a note sounded beside its pitch. */
export interface NoteTone {
  /** Seconds from 15 dB below the held level to 3 dB below it; null when it did not begin from below. */
  readonly attackSec: number | null;
  /** How uneven its level was: half the range of the middle 68 % of the held part, in dB. */
  readonly levelSpreadDb: number;
  /** Centre of the power of its partials, in partial numbers, ≥ 1; null when it could not be measured. */
  readonly brightness: number | null;
}

/** A second reed that sounds along. */
export interface NoteLeak {
  /** Hole of the second reed, 1 to 10. */
  readonly hole: number;
  /** Its level against the note's, in amplitude dB (20·log10); negative when weaker. */
  readonly levelDb: number;
  /** For how much of the note it sounds, (0, 1]. */
  readonly share?: number | undefined;
  /** A reed that slipped in, or two that were meant: of next holes a chord, of holes further off a split. */
  readonly kind?: 'leak' | 'chord' | 'split' | undefined;
}

/** Why a sound is not taken for a note. */
export const LEFT_OUT_REASONS = ['talk', 'noise', 'other-instrument', 'not-on-harp', 'doubtful'] as const;
export type LeftOutReason = (typeof LEFT_OUT_REASONS)[number];

/** One played note: what was measured, where on the harp it was played, and how sure that is. */
export interface Note extends TabNote, Ornamented {
  /** What it was left out for before the player took it for a note all the same. */
  readonly leftOutAs?: LeftOutReason | undefined;
  /** Stable within a take, `n1`, `n2`, … */
  readonly id: string;
  /** Seconds from the first sample; the note fills [onsetSec, offsetSec). */
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** Measured fundamental of the held part, > 0. */
  readonly f0Hz: number;
  /** The same as a real-valued MIDI number on A4 = 440 Hz. */
  readonly midi: number;
  /** Measured minus target, the target being that of this hole and technique on this harp. */
  readonly cents: number;
  /** How sure the whole claim is: that it is there, one note, and of these holes, [0, 1]. */
  readonly confidence: number;
  readonly alternatives: readonly NoteAlternative[];
  readonly start: NoteStart;
  /** Null when the note is too short to measure. */
  readonly intonation: NoteIntonation | null;
  /** Null when no second reed was heard. */
  readonly leak: NoteLeak | null;
  /** RMS level against full scale, in amplitude dB (20·log10). */
  readonly levelDb: number;
  /** Harmonics-to-noise ratio, in power dB (10·log10). */
  readonly harmonicityDb: number;
  readonly tone?: NoteTone | undefined;
  /** Level of its first partials against the strongest, in whole dB; missing when not measured. */
  readonly partialsDb?: readonly number[] | undefined;
  /** Remarks for people, such as `doubtful-hole`; empty when there is nothing to say. */
  readonly flags: readonly string[];
}
