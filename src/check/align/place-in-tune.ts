import { cheapestPlace, costsFrom, type Place } from '../../decode/place.ts';
import { COSTS, pitchCosts } from './pitch-costs.ts';
import type { PlayedNote } from './played.ts';
import type { ReferenceNote } from './reference.ts';
import { likelyShifts, SHIFT_GAIN } from './shift.ts';

/** Stretches of a take by which it is located: all of them up to 1,600 notes, an even sample of a longer take. */
export const WINDOW = { notes: 200, most: 8 } as const;

/**
 * Locates a take in a tune by looking for stretches of it anywhere in the tune, so that the work grows with
 * the lengths of both rather than with their product.
 * @param mostCost a note on average: a take that costs more is not in the tune
 * @returns notes of the tune, from 0, `to` not included; null when most of the take is not in the tune
 */
export function placeInTune(
  played: readonly PlayedNote[],
  notes: readonly ReferenceNote[],
  mostCost: number,
): { readonly from: number; readonly to: number } | null {
  const shift = shiftOf(played.slice(0, WINDOW.notes), notes);
  const places: Place[] = [];
  let cost = 0;
  let count = 0;
  let expected = 0;
  for (const [begin, end] of windowsOf(played.length)) {
    const window = played.slice(begin, end);
    // In a tune that repeats itself, the take continues from where it was.
    const place = locate(window, notes, shift, places.length === 0 ? null : expected + window.length);
    expected = place.to;
    places.push(place);
    cost += place.cost;
    count += window.length;
  }
  if (count === 0 || cost > mostCost * count) return null;
  return { from: Math.min(...places.map(({ from }) => from)), to: Math.max(...places.map(({ to }) => to)) };
}

/**
 * The stretches of a tune between some of its notes that a short take may be of, likeliest first.
 * @param starts  where a stretch may begin; it ends before another of these or at the end
 * @param mostCost  what any of them may cost, as an alignment by pitch
 * @returns each with a lower bound of its cost
 */
export function stretchesOf(
  played: readonly PlayedNote[],
  notes: readonly ReferenceNote[],
  starts: readonly number[],
  mostCost: number,
): { readonly from: number; readonly to: number; readonly leastCost: number }[] {
  const costs = pitchCosts(played, notes, shiftOf(played, notes));
  return starts
    .flatMap((from, i) => {
      const ends = costsFrom(from, played.length, notes.length, costs);
      return [...starts.slice(i + 1), notes.length].map((to) => ({ from, to, leastCost: ends[to] }));
    })
    .filter(({ leastCost }) => leastCost < mostCost)
    .sort((a, b) => a.leastCost - b.leastCost);
}

function locate(
  window: readonly PlayedNote[],
  notes: readonly ReferenceNote[],
  shift: number,
  near: number | null,
): Place {
  const costs = pitchCosts(window, notes, shift);
  return cheapestPlace(
    window.length,
    notes.length,
    costs,
    near === null ? null : { near, nearlyCost: COSTS.back },
  );
}

/** The transposition with which a stretch fits best, among those that runs of notes suggest. */
function shiftOf(window: readonly PlayedNote[], notes: readonly ReferenceNote[]): number {
  const tried = likelyShifts(window, notes, notes.length);
  if (tried.length === 1) return tried[0];
  const costs = tried.map(
    (shift) => locate(window, notes, shift, null).cost * (shift === 0 ? SHIFT_GAIN : 1),
  );
  return tried[costs.indexOf(Math.min(...costs))];
}

/** First note of each, and the note after its last. */
function windowsOf(count: number): [begin: number, end: number][] {
  const windows = Math.min(WINDOW.most, Math.ceil(count / WINDOW.notes));
  const length = Math.min(WINDOW.notes, Math.ceil(count / Math.max(1, windows)));
  return Array.from({ length: windows }, (_, n) => {
    const begin = windows === 1 ? 0 : Math.round((n * (count - length)) / (windows - 1));
    return [begin, begin + length];
  });
}
