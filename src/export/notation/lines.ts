import { barTicks } from '../../music/rhythm/metre.ts';
import { median } from '../../statistics.ts';
import type { Score } from '../score.ts';
import { GRID_TICKS } from './spans.ts';

/**
 * A phrase of more notes than this is shown in several lines of about this many notes: as many as fit across a page,
 * and as a player can keep in mind (chosen by eye on sheets and pages).
 */
const LONGEST_NOTES = 24;
const GOOD_NOTES = 16;
/** How far a line may end from an even division, as a share of its length, and the fewest notes that it may have. */
const REACH_SHARE = 1 / 3;
const FEWEST_NOTES = 4;
/** Relative weights of a bar line, of a step twice the usual length, and of the distance from an even division. */
const BAR_LINE_WORTH = 1;
const STEP_WORTH = 0.5;
const MOST_STEPS = 4;
const DISTANCE_WORTH = 0.5;

/**
 * Where to break a long run of notes for display; in the take it stays one phrase. Lines begin with a bar where there
 * are any, after a long note or a rest, and are about as long as each other.
 * @param first,last  positions in the score
 * @returns positions of the notes that begin a further line, ascending; none for a short run
 */
export function lineStarts({ notes, beats }: Score, first: number, last: number): number[] {
  const count = last - first + 1;
  if (count <= LONGEST_NOTES) return [];
  const lines = Math.ceil(count / GOOD_NOTES);
  const stepTo = (i: number): number => notes[i].played.onsetSec - notes[i - 1].played.onsetSec;
  const usual = median(Array.from({ length: count - 1 }, (_, i) => stepTo(first + i + 1)));
  const reach = (REACH_SHARE * count) / lines;
  const worth = (i: number, even: number): number => {
    const startsBar = beats.metre !== null && notes[i].atTicks % barTicks(beats.metre) === 0;
    const steps = Math.min(MOST_STEPS, stepTo(i) / Math.max(usual, Number.EPSILON));
    return (
      (startsBar ? BAR_LINE_WORTH : 0) +
      STEP_WORTH * (steps - 1) -
      (DISTANCE_WORTH * Math.abs(i - even)) / reach
    );
  };
  const starts: number[] = [];
  for (let line = 1; line < lines; line++) {
    const even = first + (line * count) / lines;
    const from = Math.max(Math.ceil(even - reach), (starts[starts.length - 1] ?? first) + FEWEST_NOTES);
    const to = Math.min(Math.floor(even + reach), last - FEWEST_NOTES + 1);
    const places = Array.from({ length: Math.max(0, to - from + 1) }, (_, i) => from + i)
      // No line can end inside a triplet.
      .filter((i) => notes[i].atTicks % GRID_TICKS === 0)
      .sort((a, b) => worth(b, even) - worth(a, even));
    if (places.length > 0) starts.push(places[0]);
  }
  return starts;
}
