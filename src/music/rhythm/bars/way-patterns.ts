import type { BarredPath } from './bar-lines.ts';

/** Names of the features that describe the metre of a whole tune, in the order of `wayPatterns`. */
export const WAY_PATTERNS = [
  'lengths again after half a bar',
  'notes again after half a bar',
  'steps again after half a bar',
  'lengths again after a bar',
  'notes again after a bar',
  'steps again after a bar',
  'lengths again after two bars',
  'notes again after two bars',
  'steps again after two bars',
  'lengths again after four bars',
  'notes again after four bars',
  'steps again after four bars',
  'bars',
  'bars squared',
  'long in the second of two bars',
  'long in the last of four bars',
  'quarters of a pulse',
  'thirds of a pulse',
  'halves of a pulse',
  'three quarters of a pulse',
  'pulses',
] as const;

/** Distances in bars at which a tune is compared with itself. */
const LAGS = [0.5, 1, 2, 4];
/** A typical number of bars; the feature is centred on it. */
const USUAL_BARS = 16;
/** Boundaries between classes of length, in pulses. */
const LENGTHS = [0, 0.26, 0.4, 0.6, 0.9, 1.1];

/**
 * How a tune resembles itself some bars later (in lengths, in notes, and in lengths with steps of pitch), how many bars it
 * has, in which of them the long notes are, and which lengths it is made of. Tunes in 2/4 differ from those in 4/4 more in
 * these than in where single notes fall.
 * @param pitches  one per note, or none at all
 * @param longNotes  positions of the notes that are longer than usual
 * @returns numbers in the order of `WAY_PATTERNS`, of the order of 1
 */
export function wayPatterns(
  { plan, atTicks }: BarredPath,
  pitches: readonly number[],
  longNotes: readonly number[],
): number[] {
  const { barTicks, pulseTicks } = plan;
  const last = atTicks.length - 1;
  const features = LAGS.flatMap((bars) => goingOnAlike(atTicks, pitches, Math.floor(bars * barTicks)));
  const bars = Math.log2(Math.max(1, (atTicks[last] - atTicks[0]) / barTicks) / USUAL_BARS) / 2;
  features.push(bars, bars * bars);

  const firstBar = atTicks[0] > 0 ? 1 : 0;
  const barsOfLong = longNotes.map((n) => Math.floor(atTicks[n] / barTicks) - firstBar);
  for (const of of [2, 4]) {
    const inLast = barsOfLong.filter((bar) => (((bar + 1) % of) + of) % of === 0).length;
    features.push(inLast / Math.max(1, barsOfLong.length));
  }

  features.push(...lengthShares(atTicks, pulseTicks));
  return features;
}

/** Of the notes before the last, the share whose length is in each class. */
function lengthShares(atTicks: readonly number[], pulseTicks: number): number[] {
  const last = atTicks.length - 1;
  const within = new Array<number>(LENGTHS.length).fill(0);
  for (let n = 0; n < last; n++) {
    const step = (atTicks[n + 1] - atTicks[n]) / pulseTicks;
    let length = 0;
    while (length < LENGTHS.length && step > LENGTHS[length]) length++;
    if (length > 0 && length < LENGTHS.length) within[length]++;
  }
  return within.slice(1).map((count) => count / Math.max(1, last));
}

/** Of the notes at least `lag` before the end: the shares that `lag` ticks later find the same length, the same pitch, the same step. */
function goingOnAlike(atTicks: readonly number[], pitches: readonly number[], lag: number): number[] {
  const last = atTicks.length - 1;
  const stepOf = (n: number) => (n < last ? atTicks[n + 1] - atTicks[n] : 0);
  let asked = 0;
  let lengths = 0;
  let notes = 0;
  let steps = 0;
  let other = 0;
  for (let n = 0; n <= last && atTicks[n] + lag <= atTicks[last]; n++) {
    asked++;
    while (atTicks[other] < atTicks[n] + lag) other++;
    if (atTicks[other] > atTicks[n] + lag) continue;
    const isAsLong = stepOf(n) === stepOf(other);
    if (isAsLong) lengths++;
    if (pitches[n] === pitches[other]) notes++;
    if (isAsLong && other < last && pitches[n + 1] - pitches[n] === pitches[other + 1] - pitches[other])
      steps++;
  }
  return [lengths, notes, steps].map((count) => count / Math.max(1, asked));
}
