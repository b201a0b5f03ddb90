import type { TabNote } from './tab-note.ts';

/**
 * How a note began: after silence, at a change of breath (a short gap), by the tongue (a dip), slurred (no dip),
 * by a glide of the pitch with no attack (bends), or by a jump over holes.
 */
export type NoteStart = 'silence' | 'breath' | 'tongue' | 'slur' | 'glide' | 'jump';

/** Below this confidence the hole is in doubt (flag `doubtful-hole`) and the printed tab says so (three in ten such are wrong). */
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
}

/** A second reed that sounds along. */
export interface NoteLeak {
  /** Hole of the second reed, 1 to 10. */
  readonly hole: number;
  /** Its level against the note's, in amplitude dB (20·log10); negative when weaker. */
  readonly levelDb: number;
}

/** One played note: what was measured, where on the harp it was played, and how sure that is. */
export interface Note extends TabNote {
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
  /** How sure hole, breath, bend and over are, [0, 1]. */
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
  /** Remarks for people, such as `doubtful-hole`; empty when there is nothing to say. */
  readonly flags: readonly string[];
}
