import type { BarPlan } from './metre.ts';

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
  const latest = new Map<string, number>();
  const parallels: Parallel[] = [];
  for (let n = ALIKE_NOTES - 1; n < pitches.length; n++) {
    let key = '';
    for (let i = n - ALIKE_NOTES + 2; i <= n; i++) key += `${pitches[i] - pitches[i - 1]}:${stepTicks[i]} `;
    const earlier = latest.get(key);
    if (earlier !== undefined) parallels.push({ earlier, later: n });
    latest.set(key, n);
  }
  return parallels;
}

/** How often repeats lie whole bars apart. */
const WHOLE_BARS_SHARE = 0.85;
/** Neighbouring repeats tell the same thing again. */
const EACH_COUNTS = 0.3;

/** How well repeats go with the bars of a plan: natural log of its odds against repeats that lie anyhow. */
export function parallelScore(
  parallels: readonly Parallel[],
  atTicks: readonly number[],
  plan: BarPlan,
): number {
  const pulses = plan.barTicks / plan.pulseTicks;
  const whole = EACH_COUNTS * Math.log(WHOLE_BARS_SHARE * pulses);
  const broken = EACH_COUNTS * Math.log(((1 - WHOLE_BARS_SHARE) * pulses) / Math.max(1, pulses - 1));
  let score = 0;
  for (const { earlier, later } of parallels) {
    score += (atTicks[later] - atTicks[earlier]) % plan.barTicks === 0 ? whole : broken;
  }
  return score;
}
