import { TICKS_PER_BEAT } from './metre.ts';

/** The parts of a beat grid that counting needs (ticks: twelve to a quarter note). */
export interface CountingGrid {
  readonly tempoBpm: number;
  readonly metre: { readonly count: number; readonly unit: number } | null;
  /** Time of each quarter note; empty in free time. */
  readonly gridSec: readonly number[];
}

/** Clicks of a count-in where there is no metre. */
const USUAL_COUNT = 4;

/**
 * When to click so that a note comes in on the beat: the last click is on the last beat before the note, at the tempo
 * there. A note off the beat (a pick-up) follows the last click by part of a beat.
 * @param clicks  how many; one bar if omitted
 * @returns seconds on the take's clock, ascending; the first may be negative
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
