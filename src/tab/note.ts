import type { Ornamented } from './ornament.ts';
import type { TabNote } from './tab-note.ts';

/**
 * How a note began: after silence, at a change of breath (a short gap), by the tongue (a dip), slurred (no dip),
 * by a glide of the pitch with no attack (bends), or by a jump over holes.
 */
export type NoteStart = 'silence' | 'breath' | 'tongue' | 'slur' | 'glide' | 'jump';

/**
 * Below this confidence a note is doubtful, and the printed tab says so (three in ten of them are wrong); flag
 * `doubtful-hole` where the doubt is about the hole.
 */
export const DOUBTFUL_BELOW = 0.7;

/** Another reading of the same sound; lists have the best first. */
export interface NoteAlternative extends TabNote {
  /** [0, 1]; with the note's own confidence, all readings sum to at most 1. */
  readonly confidence: number;
}

/** How the pitch was held. */
export interface NoteIntonation {
  /** Spread of the held part around its trend, in cents, ≥ 0. */
  readonly steadinessCents: number;
  /** Slope of the held part; negative when it falls. */
  readonly driftCentsPerSec: number;
  /** Where the note began relative to its held pitch, in cents; 0 when it began there, negative from below. */
  readonly scoopCents: number;
  /** How long it took to reach the held pitch, in seconds. */
  readonly scoopSec: number;
  /** How far it overshot the held pitch, in cents, signed; 0 when it did not. */
  readonly overshootCents?: number | undefined;
  /** Where it went in the last 30 ms, relative to the held pitch, in cents. */
  readonly releaseCents?: number | undefined;
  /** Rate, and extent from the middle to the peak; missing when there was no vibrato or too little was heard. */
  readonly vibratoHz?: number | undefined;
  readonly vibratoCents?: number | undefined;
  /** For bends: how far below the unbent reed it was held, in cents, positive. */
  readonly depthCents?: number | undefined;
}

/** How a note sounded, apart from its pitch. */
export interface NoteTone {
  /** Seconds from 15 dB below the held level to 3 dB below it; null when it did not begin from below. */
  readonly attackSec: number | null;
  /** How uneven its level was: half the range of the middle 68 % of the held part, in dB. */
  readonly levelSpreadDb: number;
  /** Centre of the power of its partials, in partial numbers, ≥ 1; null when it could not be measured. */
  readonly brightness: number | null;
}

/** A second reed that sounds with the note. */
export interface NoteLeak {
  /** Hole of the second reed, 1 to 10. */
  readonly hole: number;
  /** Its level relative to the note's, in amplitude dB (20·log10); negative when weaker. */
  readonly levelDb: number;
  /** Share of the note during which it sounds, (0, 1]. */
  readonly share?: number | undefined;
  /**
   * `leak` for a reed that slipped in; where two were meant, `chord` for adjacent holes and `split` for holes further
   * apart.
   */
  readonly kind?: 'leak' | 'chord' | 'split' | undefined;
}

/** Why a sound was left out. */
export const LEFT_OUT_REASONS = ['talk', 'noise', 'other-instrument', 'not-on-harp', 'doubtful'] as const;
export type LeftOutReason = (typeof LEFT_OUT_REASONS)[number];

/** One played note: what was measured, where on the harp it was played, and how sure that is. */
export interface Note extends TabNote, Ornamented {
  /** Why it was left out before the player made it a note after all. */
  readonly leftOutAs?: LeftOutReason | undefined;
  /** Stable within a take, `n1`, `n2`, … */
  readonly id: string;
  /** Seconds from the first sample; the note fills [onsetSec, offsetSec). */
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** Measured fundamental of the held part, > 0. */
  readonly f0Hz: number;
  /** The same as a real-valued MIDI number at A4 = 440 Hz. */
  readonly midi: number;
  /** Measured minus target, the target being that of this hole and technique on this harp. */
  readonly cents: number;
  /** How sure the note is as a whole, [0, 1]: that it is there, is one note, and is on these holes. */
  readonly confidence: number;
  readonly alternatives: readonly NoteAlternative[];
  readonly start: NoteStart;
  /** Null when the note is too short to measure. */
  readonly intonation: NoteIntonation | null;
  /** Null when no second reed was heard. */
  readonly leak: NoteLeak | null;
  /** RMS level relative to full scale, in amplitude dB (20·log10). */
  readonly levelDb: number;
  /** Harmonics-to-noise ratio, in power dB (10·log10). */
  readonly harmonicityDb: number;
  readonly tone?: NoteTone | undefined;
  /** Levels of its first partials relative to the strongest, in whole dB; missing when not measured. */
  readonly partialsDb?: readonly number[] | undefined;
  /** Remarks for people, such as `doubtful-hole`; empty when there is nothing to say. */
  readonly flags: readonly string[];
  /** Where a note may have been played again, in seconds from the first sample; it is flagged `maybe-two` if that is likely. */
  readonly againSec?: number | undefined;
}
