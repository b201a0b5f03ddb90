import { BEND_TOLERANCE_CENTS } from '../tab/tolerance.ts';

/** What can be said about a student's take. Other programs rely on these names. */
export const FINDING_KINDS = [
  'wrong-note',
  'octave',
  'missed',
  'added',
  'restart',
  'early',
  'late',
  'bend-short',
  'bend-sharp',
  'second-reed',
  'breath-noise',
  'same-pitch-other-hole',
] as const;
export type FindingKind = (typeof FINDING_KINDS)[number];

/** What there is to say, without the note that it is about. */
export interface Remark {
  readonly kind: FindingKind;
  /** One sentence, with its number. */
  readonly message: string;
  /**
   * The number behind it: semitones off (`wrong-note`, `octave`), seconds (`early` < 0 < `late`), cents from the target
   * (bends: positive when not deep enough; overbends: negative when flat), dB of the second reed, dB of harmonicity, notes gone back (`restart`);
   * null where there is none.
   */
  readonly value: number | null;
}

/** One thing that a teacher would say. */
export interface Finding extends Remark {
  /** In the student's recording; for a missed note, where it should have come. */
  readonly timeSec: number;
  /** The student's note; null for a missed one. */
  readonly noteId: string | null;
  /** Place in the reference, from 0; null for an extra note. */
  readonly referenceIndex: number | null;
}

/** How strictly a take is judged: common practice, and each can be set. */
export interface Tolerances {
  /** A bend further than this from its target is short or too deep, in cents. */
  readonly bendCents: number;
  /** A note further than this from its time is early or late, in seconds. */
  readonly timeSec: number;
  /** A second reed louder than this, relative to the note, is a fault, in dB. */
  readonly leakDb: number;
  /** Whether the right pitch from another hole counts as wrong. */
  readonly strict: boolean;
}

/** Bends get twice the tolerance of plain notes; everyone hears a tenth of a second (common practice). */
export const TOLERANCES: Tolerances = {
  bendCents: BEND_TOLERANCE_CENTS,
  timeSec: 0.1,
  leakDb: -20,
  strict: false,
};
