import type { Breath } from '../../harp/types.ts';
import { median, quantile } from '../../statistics.ts';
import { type Dated, dayOf, type Trend, trendOf } from '../progress/trend.ts';
import type { PlayedBend } from './collect.ts';

/** One bend of the harp over all takes. */
export interface BendSummary {
  readonly hole: number;
  readonly breath: Breath;
  /** Semitones; 0 for an overbend. */
  readonly bend: number;
  readonly over: boolean;
  readonly count: number;
  readonly medianCents: number;
  /** Half the range of the middle 68 %. */
  readonly spreadCents: number;
  /** Share of the notes within the tolerance, [0, 1]. */
  readonly withinTolerance: number;
  /** How many did not reach the target (not deep enough; flat for an overbend), and how many went too far. */
  readonly short: number;
  readonly tooDeep: number;
  /** Medians over the notes. */
  readonly steadinessCents: number;
  readonly settleSec: number;
  /** Trend of the distance from the target; null with fewer than three days. */
  readonly trend: Trend | null;
  readonly notes: readonly PlayedBend[];
}

/** This many perfect notes are added to each bend, which moves rarely played ones down the list. */
const DOUBT_NOTES = 2;

/**
 * Sums up each bend and overbend by hole and depth, whatever the key of the harp. What needs most work comes first: by how far
 * notes lie outside the tolerance on average.
 */
export function summariseBends(bends: readonly PlayedBend[], toleranceCents: number): BendSummary[] {
  const kinds = new Map<string, PlayedBend[]>();
  for (const bend of bends) {
    const kind = `${bend.hole} ${bend.breath} ${bend.bend} ${bend.over}`;
    kinds.set(kind, [...(kinds.get(kind) ?? []), bend]);
  }
  return [...kinds.values()]
    .map((notes) => ({ summary: summarise(notes, toleranceCents), work: workOf(notes, toleranceCents) }))
    .sort((a, b) => b.work - a.work || a.summary.hole - b.summary.hole || a.summary.bend - b.summary.bend)
    .map(({ summary }) => summary);
}

function summarise(notes: readonly PlayedBend[], toleranceCents: number): BendSummary {
  const [{ hole, breath, bend, over }] = notes;
  const cents = notes.map((note) => note.cents);
  // A bend goes down to its target, an overbend up.
  const short = cents.filter((value) => (over ? -value : value) > toleranceCents).length;
  const tooDeep = cents.filter((value) => (over ? value : -value) > toleranceCents).length;
  return {
    hole,
    breath,
    bend,
    over,
    count: notes.length,
    medianCents: median(cents),
    spreadCents: (quantile(cents, 0.84) - quantile(cents, 0.16)) / 2,
    withinTolerance: (notes.length - short - tooDeep) / notes.length,
    short,
    tooDeep,
    steadinessCents: median(notes.map((note) => note.steadinessCents)),
    settleSec: median(notes.map((note) => note.settleSec)),
    trend: trendOf(
      notes.flatMap((note): Dated[] =>
        note.date === null ? [] : [{ day: dayOf(note.date), value: Math.abs(note.cents) }],
      ),
    ),
    notes,
  };
}

function workOf(notes: readonly PlayedBend[], toleranceCents: number): number {
  const excess = notes.reduce((sum, { cents }) => sum + Math.max(0, Math.abs(cents) - toleranceCents), 0);
  const distance = notes.reduce((sum, { cents }) => sum + Math.abs(cents), 0) / notes.length;
  // Inside the tolerance the mean distance only breaks ties; it never outweighs a cent outside it.
  return excess / (notes.length + DOUBT_NOTES) + distance / 1000;
}
