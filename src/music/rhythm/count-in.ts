import { TICKS_PER_BEAT } from './metre.ts';

/** As much of a beat grid as counting needs (ticks: twelve to a quarter note). */
export interface CountingGrid {
  readonly tempoBpm: number;
  readonly metre: { readonly count: number; readonly unit: number } | null;
  /** When each quarter note comes; empty in free time. */
  readonly gridSec: readonly number[];
}

/** Counted where the metre says nothing. */
const USUAL_COUNT = 4;

/**
 * When to click before a note so that it comes in on the beat: the last click is the last beat before it, as fast as
 * the beat is there. A note off the beat (a pick-up) comes after a part of a beat.
 * @param clicks  how many; a bar if omitted
 * @returns seconds on the take's clock, rising; the first ones may be negative
 */
export function countInTimes(
  { tempoBpm, metre, gridSec }: CountingGrid,
  note: { readonly onsetSec: number; readonly atTicks: number },
  clicks: number = metre?.count ?? USUAL_COUNT,
): number[] {
  const quarter = Math.floor(note.atTicks / TICKS_PER_BEAT);
  const quarterSec = quarter + 1 < gridSec.length ? gridSec[quarter + 1] - gridSec[quarter] : 60 / tempoBpm;
  const unitTicks = (4 * TICKS_PER_BEAT) / (metre?.unit ?? 4);
  const unitSec = (quarterSec * unitTicks) / TICKS_PER_BEAT;
  const offBeat = gridSec.length === 0 ? 0 : (note.atTicks % unitTicks) / unitTicks;
  const last = offBeat === 0 ? 1 : offBeat;
  return Array.from({ length: clicks }, (_, i) => note.onsetSec - (last + clicks - 1 - i) * unitSec);
}
