import { BAND_STEP_SEC } from './bands.ts';

/** Changes smaller than this are ignored, in dB: half of what hands do. */
const LEAST_CHANGE_DB = 3.5;
/** Values are smoothed over this many on each side. */
const SMOOTH = 2;

/** One movement of a course from one turning point to the next. */
export interface Opening {
  /** Indices of its first and last value. */
  readonly from: number;
  readonly to: number;
  /** In dB; negative if it goes down. */
  readonly change: number;
}

/** The movements of a smoothed course between its turning points, which alternate and are at least half an opening apart. */
export function openingsIn(course: readonly number[]): Opening[] {
  const turns = turningPoints(course);
  return turns.slice(1).map((to, i) => ({ from: turns[i], to, change: course[to] - course[turns[i]] }));
}

/** Where a course turns for good: alternating maxima and minima, each at least the least change away from the last. */
function turningPoints(values: readonly number[]): number[] {
  let lowest = 0;
  let highest = 0;
  const turns: number[] = [];
  let rising: boolean | null = null;
  for (let i = 0; i < values.length; i++) {
    if (values[i] > values[highest]) highest = i;
    if (values[i] < values[lowest]) lowest = i;
    if (rising !== true && values[i] - values[lowest] >= LEAST_CHANGE_DB) {
      turns.push(lowest);
      rising = true;
      highest = i;
    } else if (rising !== false && values[highest] - values[i] >= LEAST_CHANGE_DB) {
      turns.push(highest);
      rising = false;
      lowest = i;
    }
  }
  if (rising !== null) turns.push(rising ? highest : lowest);
  return turns;
}

/** The widest of them; undefined if there is none. */
export const widestOf = (openings: readonly Opening[]): Opening | undefined =>
  openings.toSorted((a, b) => Math.abs(b.change) - Math.abs(a.change))[0];

/** Hands move about equally far each time; smaller changes are the room's. */
export const alike = (openings: readonly Opening[], widest: Opening): Opening[] =>
  openings.filter(({ change }) => Math.abs(change) >= 0.5 * Math.abs(widest.change));

/** The most that a course changes within this time during a movement, in dB. */
export function quickest(course: readonly number[], { from, to }: Opening, withinSec: number): number {
  const span = Math.round(withinSec / BAND_STEP_SEC);
  let most = 0;
  for (let i = from; i < to; i++) most = Math.max(most, Math.abs(course[Math.min(to, i + span)] - course[i]));
  return most;
}

export function smoothed(values: readonly number[]): number[] {
  return values.map((_, i) => {
    let sum = 0;
    let count = 0;
    for (let k = Math.max(0, i - SMOOTH); k <= Math.min(values.length - 1, i + SMOOTH); k++, count++)
      sum += values[k];
    return sum / count;
  });
}
