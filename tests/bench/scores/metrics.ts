import { centsBetween } from '../../../src/units.ts';
import { maximumMatching } from './matching.ts';

/** What the note metrics look at: `[onsetSec, offsetSec)` in seconds, `f0Hz` > 0. */
export interface PitchedNote {
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly f0Hz: number;
}

/** A note with the hole, breath and technique that tab F1 asks for. */
export interface TabbedNote extends PitchedNote {
  readonly hole: number;
  readonly breath: 'blow' | 'draw';
  readonly bend: number;
  readonly over: boolean;
}

/** Counts that can be added over takes; precision, recall and F1 follow from them. */
export interface Tally {
  readonly matched: number;
  readonly reference: number;
  readonly estimated: number;
}

export interface Score {
  readonly precision: number;
  readonly recall: number;
  readonly f1: number;
}

export interface MatchOptions {
  /** Largest onset difference in seconds; 0.05 in the note metrics of the field, 0.1 often for singing. */
  readonly onsetToleranceSec?: number;
  /** Largest pitch difference in cents; null: pitch is not looked at. */
  readonly pitchToleranceCents?: number | null;
  /** Share of the reference note's length that the offset may be off by; null: offset is not looked at. */
  readonly offsetRatio?: number | null;
  /** The least that the offset may always be off by, in seconds. */
  readonly offsetMinSec?: number;
  /** A further condition on a pair (tab F1: hole, breath, bend and over all right). */
  readonly accept?: (referenceIndex: number, estimateIndex: number) => boolean;
}

export type Pair = readonly [referenceIndex: number, estimateIndex: number];

const ONSET_TOLERANCE_SEC = 0.05; // mir_eval 0.8.2 defaults: 0.05 s, 50 cents, 0.2, 0.05 s
const PITCH_TOLERANCE_CENTS = 50;
const OFFSET_RATIO = 0.2;
const OFFSET_MIN_SEC = 0.05;

/** Time differences are rounded to 4 decimals first, so that an exact 50 ms is not lost to floating point. */
const roundTime = (sec: number): number => Math.round(sec * 1e4) / 1e4;

/**
 * Pairs reference with estimated notes one to one, as many as can be (mir_eval 0.8.2, `match_notes`).
 * @returns pairs of indices in order of the reference; empty when nothing fits
 */
export function matchNotes(
  reference: readonly PitchedNote[],
  estimate: readonly PitchedNote[],
  options: MatchOptions = {},
): Pair[] {
  const onsetTolerance = options.onsetToleranceSec ?? ONSET_TOLERANCE_SEC;
  const pitchTolerance =
    options.pitchToleranceCents === undefined ? PITCH_TOLERANCE_CENTS : options.pitchToleranceCents;
  const offsetRatio = options.offsetRatio === undefined ? OFFSET_RATIO : options.offsetRatio;
  const offsetMin = options.offsetMinSec ?? OFFSET_MIN_SEC;
  const order = estimate.map((_, i) => i).sort((a, b) => estimate[a].onsetSec - estimate[b].onsetSec);

  const edges = reference.map((ref, refIndex) => {
    const fits: number[] = [];
    let low = 0;
    for (let high = order.length; low < high; ) {
      const middle = (low + high) >> 1;
      if (estimate[order[middle]].onsetSec < ref.onsetSec - onsetTolerance - 0.001) low = middle + 1;
      else high = middle;
    }
    for (let k = low; k < order.length; k++) {
      const estIndex = order[k];
      const est = estimate[estIndex];
      if (est.onsetSec > ref.onsetSec + onsetTolerance + 0.001) break;
      if (roundTime(Math.abs(est.onsetSec - ref.onsetSec)) > onsetTolerance) continue;
      if (pitchTolerance !== null && Math.abs(centsBetween(est.f0Hz, ref.f0Hz)) > pitchTolerance) continue;
      if (offsetRatio !== null) {
        const tolerance = Math.max(offsetRatio * (ref.offsetSec - ref.onsetSec), offsetMin);
        if (roundTime(Math.abs(est.offsetSec - ref.offsetSec)) > tolerance) continue;
      }
      if (options.accept && !options.accept(refIndex, estIndex)) continue;
      fits.push(estIndex);
    }
    return fits;
  });

  const rightOf = maximumMatching(edges, estimate.length);
  const pairs: Pair[] = [];
  for (let i = 0; i < rightOf.length; i++) if (rightOf[i] >= 0) pairs.push([i, rightOf[i]]);
  return pairs;
}

/** Counts for `matchNotes` with the same options. */
export function tallyNotes(
  reference: readonly PitchedNote[],
  estimate: readonly PitchedNote[],
  options: MatchOptions = {},
): Tally {
  const matched = matchNotes(reference, estimate, options).length;
  return { matched, reference: reference.length, estimated: estimate.length };
}

/** Onset within 50 ms and hole, breath, bend and over all right; pitch in Hz is not looked at. */
export function tallyTab(
  reference: readonly TabbedNote[],
  estimate: readonly TabbedNote[],
  onsetToleranceSec = ONSET_TOLERANCE_SEC,
): Tally {
  return tallyNotes(reference, estimate, {
    onsetToleranceSec,
    pitchToleranceCents: null,
    offsetRatio: null,
    accept: (r, e) => sameTab(reference[r], estimate[e]),
  });
}

export const sameTab = (a: TabbedNote, b: TabbedNote): boolean =>
  a.hole === b.hole && a.breath === b.breath && a.bend === b.bend && a.over === b.over;

/** Sum of tallies: scores over many takes weigh every note alike. */
export function addTallies(tallies: readonly Tally[]): Tally {
  let matched = 0;
  let reference = 0;
  let estimated = 0;
  for (const tally of tallies) {
    matched += tally.matched;
    reference += tally.reference;
    estimated += tally.estimated;
  }
  return { matched, reference, estimated };
}

/** Precision, recall and F1; all 0 when there is no reference, no estimate or no match (never NaN). */
export function scoreOf(tally: Tally): Score {
  if (tally.matched === 0) return { precision: 0, recall: 0, f1: 0 };
  const precision = tally.matched / tally.estimated;
  const recall = tally.matched / tally.reference;
  return { precision, recall, f1: (2 * precision * recall) / (precision + recall) };
}

/** Mean share of the joint time that paired notes have in common; 0 when there are no pairs (mir_eval 0.8.2). */
export function averageOverlapRatio(
  reference: readonly PitchedNote[],
  estimate: readonly PitchedNote[],
  pairs: readonly Pair[],
): number {
  if (pairs.length === 0) return 0;
  let sum = 0;
  for (const [r, e] of pairs) {
    const ref = reference[r];
    const est = estimate[e];
    const common = Math.min(ref.offsetSec, est.offsetSec) - Math.max(ref.onsetSec, est.onsetSec);
    const joint = Math.max(ref.offsetSec, est.offsetSec) - Math.min(ref.onsetSec, est.onsetSec);
    sum += common / joint;
  }
  return sum / pairs.length;
}
