import { centsBetween } from '../../../src/units.ts';
import { addCauses, type ReedCauses, reedCauses } from '../measures/reed-causes.ts';
import { addReeds, type ReedTally, tallyReeds } from '../measures/second-reeds.ts';
import type { LabelledTake } from '../sets/takes.ts';
import { classifyErrors, ERROR_KINDS, type ErrorKind } from './error-kinds.ts';
import {
  addTallies,
  matchNotes,
  scoreOf,
  type TabbedNote,
  type Tally,
  tallyNotes,
  tallyTab,
} from './metrics.ts';

/** A note as a transcriber gives it. */
export interface EstimatedNote extends TabbedNote {
  /** [0, 1]; null when the transcriber says nothing. */
  readonly confidence: number | null;
  readonly leak: { readonly hole: number; readonly levelDb: number } | null;
  /** Every hole that sounds, ascending, where there is more than one. */
  readonly holes?: readonly number[] | undefined;
  readonly holeBends?: readonly number[] | undefined;
  /** Against the note that it is said to be. */
  readonly cents?: number;
  /** Why measures are missing, from transcribers that say so. */
  readonly flags?: readonly string[];
}

/** What was measured on one take or, added up, on many. */
export interface Measured {
  readonly takes: number;
  readonly note: Tally;
  readonly note100: Tally;
  readonly noteOffset: Tally;
  readonly onset: Tally;
  readonly tab: Tally;
  readonly tab100: Tally;
  /** Absolute errors in cents of held notes that were found, unbent and bent. */
  readonly naturalCents: readonly number[];
  readonly bentCents: readonly number[];
  /** Signed onset errors of matched notes, in seconds. */
  readonly onsetErrorSec: readonly number[];
  /** Confidence of every estimated note, and whether its tab was right. */
  readonly confidence: readonly (readonly [confidence: number, right: boolean])[];
  readonly leaks: Tally;
  /** The loud ones of them. */
  readonly loudReeds: ReedTally;
  /** Those missed and those wrongly reported, by cause. */
  readonly reedCauses: ReedCauses;
  readonly errors: Readonly<Record<ErrorKind, number>>;
}

/** Second reeds are asked for of notes whose onset is this near; onsets have scores of their own. */
const REED_ONSET_SEC = 0.1;
/** A note counts as held when its sustained part is at least this long. */
const HELD_SEC = 0.15;

export function measureTake(take: LabelledTake, estimate: readonly EstimatedNote[]): Measured {
  const reference = take.notes;
  const pairs = matchNotes(reference, estimate, { offsetRatio: null });
  const reedPairs = matchNotes(reference, estimate, { offsetRatio: null, onsetToleranceSec: REED_ONSET_SEC });
  const held = pairs.filter(([r]) => reference[r].sustainSec[1] - reference[r].sustainSec[0] >= HELD_SEC);
  const cents = (bent: boolean): number[] =>
    held
      .filter(([r]) => (reference[r].bend > 0 || reference[r].over) === bent)
      .map(([r, e]) => Math.abs(centsBetween(estimate[e].f0Hz, reference[r].f0Hz)));
  const tabRight = new Set(
    matchNotes(reference, estimate, {
      pitchToleranceCents: null,
      offsetRatio: null,
      accept: (r, e) => {
        const [a, b] = [reference[r], estimate[e]];
        return a.hole === b.hole && a.breath === b.breath && a.bend === b.bend && a.over === b.over;
      },
    }).map(([, e]) => e),
  );
  const errors = Object.fromEntries(ERROR_KINDS.map((kind) => [kind, 0])) as Record<ErrorKind, number>;
  for (const error of classifyErrors(reference, estimate, take.talkSec)) errors[error.kind]++;
  return {
    takes: 1,
    note: tallyNotes(reference, estimate, { offsetRatio: null }),
    note100: tallyNotes(reference, estimate, { offsetRatio: null, onsetToleranceSec: 0.1 }),
    noteOffset: tallyNotes(reference, estimate),
    onset: tallyNotes(reference, estimate, { pitchToleranceCents: null, offsetRatio: null }),
    tab: tallyTab(reference, estimate),
    tab100: tallyTab(reference, estimate, 0.1),
    naturalCents: cents(false),
    bentCents: cents(true),
    onsetErrorSec: pairs.map(([r, e]) => estimate[e].onsetSec - reference[r].onsetSec),
    confidence: estimate.flatMap((note, e) =>
      note.confidence === null ? [] : [[note.confidence, tabRight.has(e)] as const],
    ),
    leaks: {
      matched: pairs.filter(
        ([r, e]) => reference[r].leak && reference[r].leak?.hole === estimate[e].leak?.hole,
      ).length,
      reference: reference.filter((note) => note.leak).length,
      estimated: estimate.filter((note) => note.leak).length,
    },
    loudReeds: tallyReeds(reference, estimate, reedPairs),
    reedCauses: reedCauses(take, estimate, reedPairs),
    errors,
  };
}

/** Adds up takes: every note weighs alike. */
export function addMeasured(parts: readonly Measured[]): Measured {
  const tallies = (pick: (m: Measured) => Tally): Tally => addTallies(parts.map(pick));
  return {
    takes: parts.reduce((sum, m) => sum + m.takes, 0),
    note: tallies((m) => m.note),
    note100: tallies((m) => m.note100),
    noteOffset: tallies((m) => m.noteOffset),
    onset: tallies((m) => m.onset),
    tab: tallies((m) => m.tab),
    tab100: tallies((m) => m.tab100),
    naturalCents: parts.flatMap((m) => m.naturalCents),
    bentCents: parts.flatMap((m) => m.bentCents),
    onsetErrorSec: parts.flatMap((m) => m.onsetErrorSec),
    confidence: parts.flatMap((m) => m.confidence),
    leaks: tallies((m) => m.leaks),
    loudReeds: addReeds(parts.map((m) => m.loudReeds)),
    reedCauses: addCauses(parts.map((m) => m.reedCauses)),
    errors: Object.fromEntries(
      ERROR_KINDS.map((kind) => [kind, parts.reduce((sum, m) => sum + m.errors[kind], 0)]),
    ) as Record<ErrorKind, number>,
  };
}

/** Value below which this share of the numbers lies, interpolated; null for no numbers. */
export function quantile(values: readonly number[], share: number): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const at = (sorted.length - 1) * share;
  const low = Math.floor(at);
  return sorted[low] + (sorted[Math.min(low + 1, sorted.length - 1)] - sorted[low]) * (at - low);
}

/** One row of a reliability table: notes whose confidence lies in [from, to). */
export interface ReliabilityRow {
  readonly from: number;
  readonly to: number;
  readonly count: number;
  readonly meanConfidence: number;
  readonly shareRight: number;
}

const RELIABILITY_BINS = 10;

/** Claimed and actual shares, in ten bins of confidence; empty bins are left out. */
export function reliability(confidence: Measured['confidence']): ReliabilityRow[] {
  const rows: ReliabilityRow[] = [];
  for (let bin = 0; bin < RELIABILITY_BINS; bin++) {
    const inside = confidence.filter(
      ([value]) => Math.min(RELIABILITY_BINS - 1, Math.floor(value * RELIABILITY_BINS)) === bin,
    );
    if (inside.length === 0) continue;
    rows.push({
      from: bin / RELIABILITY_BINS,
      to: (bin + 1) / RELIABILITY_BINS,
      count: inside.length,
      meanConfidence: inside.reduce((sum, [value]) => sum + value, 0) / inside.length,
      shareRight: inside.filter(([, right]) => right).length / inside.length,
    });
  }
  return rows;
}

/**
 * Expected calibration error: mean difference between claimed and actual, weighted by notes (Naeini et al., AAAI 2015).
 */
export function calibrationError(confidence: Measured['confidence']): number | null {
  if (confidence.length === 0) return null;
  return reliability(confidence).reduce(
    (sum, row) => sum + (row.count / confidence.length) * Math.abs(row.shareRight - row.meanConfidence),
    0,
  );
}

export const f1 = (tally: Tally): number => scoreOf(tally).f1;
