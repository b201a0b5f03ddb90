import type { BarPlan } from './metre.ts';
import { LONGEST_TICKS } from './time-scores.ts';

/** Two places in a tune that continue alike: positions of notes. */
export interface Parallel {
  readonly earlier: number;
  readonly later: number;
}

/** This many notes in a row must match for two places to count as alike. */
const ALIKE_NOTES = 4;

/**
 * Where a tune repeats itself: every note that ends the same steps in pitch and time as an earlier one, paired with the
 * latest such note.
 * @param pitches  MIDI numbers
 * @param stepTicks  for each note the time from the one before it; null across a rest
 */
export function findParallels(pitches: readonly number[], stepTicks: readonly (number | null)[]): Parallel[] {
  const steps = numberedSteps(pitches, stepTicks);
  const count = pitches.length;
  const latest = new Map<number, number>();
  const parallels: Parallel[] = [];
  for (let n = ALIKE_NOTES - 1; n < count; n++) {
    let key = 0;
    for (let i = n - ALIKE_NOTES + 2; i <= n; i++) key = key * count + steps[i];
    const earlier = latest.get(key);
    if (earlier !== undefined) parallels.push({ earlier, later: n });
    latest.set(key, n);
  }
  return parallels;
}

/** More than the number of different steps in time, a rest included. */
const STEPS_APART = LONGEST_TICKS + 2;

/** Numbers the steps in pitch and time: equal steps get equal numbers, all less than the count of notes. */
function numberedSteps(pitches: readonly number[], stepTicks: readonly (number | null)[]): Int32Array {
  const numbers = new Map<number, number>();
  const steps = new Int32Array(pitches.length);
  for (let n = 1; n < pitches.length; n++) {
    const step = (pitches[n] - pitches[n - 1]) * STEPS_APART + (stepTicks[n] ?? -1);
    const number = numbers.get(step) ?? numbers.size;
    numbers.set(step, number);
    steps[n] = number;
  }
  return steps;
}

/** A match of fewer notes in a row is not a repeat. */
const FEWEST_REPEATED = 5;

/**
 * First notes of the stretches that repeat an earlier stretch, and of those earlier ones: listeners hear the start of a
 * pattern as a strong place (parallelism: Lerdahl & Jackendoff, A Generative Theory of Tonal Music, 1983, MPR 1; Temperley
 * & Bartlette, Music Perception 20(2), 117-149, 2002).
 * @returns positions of notes, ascending
 */
export function repeatStarts(parallels: readonly Parallel[]): number[] {
  const starts = new Set<number>();
  let from = 0;
  for (let i = 1; i <= parallels.length; i++) {
    const goesOn =
      i < parallels.length &&
      parallels[i].later === parallels[i - 1].later + 1 &&
      parallels[i].earlier === parallels[i - 1].earlier + 1;
    if (goesOn) continue;
    if (ALIKE_NOTES + i - 1 - from >= FEWEST_REPEATED) {
      starts.add(parallels[from].earlier - ALIKE_NOTES + 1).add(parallels[from].later - ALIKE_NOTES + 1);
    }
    from = i;
  }
  return [...starts].sort((a, b) => a - b);
}

/*
 * How far apart the repeats of a tune are, counted in the tunes of `onset-shares.ts`, each tune with the same weight. An odd
 * number of bars is rare, since phrases come in twos and fours.
 */
const BROKEN_SHARE = 0.15;
const ODD_SHARE = 0.11;
const TWO_SHARE = 0.27;
const FOUR_SHARE = 0.47;
/** Neighbouring repeats are not independent evidence: each counts this much. */
const EACH_COUNTS = 0.45;

/**
 * How well the repeats of a tune fit the bars of a plan: natural log of the odds against repeats at random distances.
 * @param usualTicks  median time from note to note, which makes plans of different pulses comparable
 */
export function parallelScore(
  parallels: readonly Parallel[],
  atTicks: readonly number[],
  { barTicks }: BarPlan,
  usualTicks: number,
): number {
  const steps = Math.max(2, barTicks / usualTicks);
  const broken = EACH_COUNTS * Math.log((BROKEN_SHARE * steps) / (steps - 1));
  // Of all whole numbers of bars, half are odd, a quarter are twos and a quarter are fours.
  const odd = EACH_COUNTS * Math.log(ODD_SHARE * 2 * steps);
  const two = EACH_COUNTS * Math.log(TWO_SHARE * 4 * steps);
  const four = EACH_COUNTS * Math.log(FOUR_SHARE * 4 * steps);
  let score = 0;
  for (const { earlier, later } of parallels) {
    const bars = (atTicks[later] - atTicks[earlier]) / barTicks;
    if (!Number.isInteger(bars)) score += broken;
    else score += bars % 2 === 1 ? odd : bars % 4 === 2 ? two : four;
  }
  return score;
}
