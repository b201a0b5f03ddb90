import type { BarPlan } from './metre.ts';
import { LONGEST_TICKS } from './time-scores.ts';

/** Two places of a tune that go alike: positions of notes. */
export interface Parallel {
  readonly earlier: number;
  readonly later: number;
}

/** So many notes in a row make places alike. */
const ALIKE_NOTES = 4;

/**
 * Where a tune repeats itself: notes that end the same steps in pitch and in time as an earlier one, with the latest such.
 * @param pitches  MIDI numbers
 * @param stepTicks  for each note the time from the one before it; null over a rest
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

/** More than the steps in time that there are, a rest among them. */
const STEPS_APART = LONGEST_TICKS + 2;

/** A number below the count of notes for each step in pitch and in time, the same for steps that are alike. */
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

/** Fewer notes in a row that go alike are no repeat of their own. */
const FEWEST_REPEATED = 5;

/**
 * First notes of the stretches that go like an earlier stretch, and of those earlier ones: listeners take where a pattern begins
 * for a strong place (parallelism: Lerdahl & Jackendoff, A Generative Theory of Tonal Music, 1983, MPR 1; Temperley & Bartlette,
 * Music Perception 20(2), 117-149, 2002).
 * @returns positions of notes, rising
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
 * How far apart the repeats of a tune are, counted in the tunes of `onset-shares.ts`, each tune weighing the same: an odd
 * number of bars is rare, since phrases come in twos and fours.
 */
const BROKEN_SHARE = 0.15;
const ODD_SHARE = 0.11;
const TWO_SHARE = 0.27;
const FOUR_SHARE = 0.47;
/** Neighbouring repeats tell the same thing again. */
const EACH_COUNTS = 0.45;

/**
 * How well the repeats of a tune go with the bars of a plan: natural log of its odds against repeats that lie anyhow.
 * @param usualTicks  usual time from note to note, so that plans of other pulses can be compared
 */
export function parallelScore(
  parallels: readonly Parallel[],
  atTicks: readonly number[],
  { barTicks }: BarPlan,
  usualTicks: number,
): number {
  const steps = Math.max(2, barTicks / usualTicks);
  const broken = EACH_COUNTS * Math.log((BROKEN_SHARE * steps) / (steps - 1));
  // Of the whole bars, every other one is odd, every fourth a two, every fourth a four.
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
