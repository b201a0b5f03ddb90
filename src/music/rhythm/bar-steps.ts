import { type BarPlan, TICKS_PER_BEAT } from './metre.ts';

/** Factor on the odds that the next note begins at a stronger place than this one, or at a weaker one: notes seldom last past a stronger place (length accent). */
const OVER_STRONGER_ODDS = 2.5;
const OVER_WEAKER_ODDS = 0.7;
/** Within a beat that is already divided, how often the next place of the same division carries a note. */
const GOES_ON_SHARE = 0.75;

/** How often a note after a rest begins a new phrase, wherever the last one ended (set by hand [no source]). */
const ANEW_SHARE = 0.1;

/** For each place of a bar, where the next note may begin: three parallel arrays in rows, nearest first. */
export interface BarSteps {
  /** The row of place p runs from `begin[p]` to just before `begin[p + 1]`. */
  readonly begin: Int32Array;
  readonly ticks: Int16Array;
  readonly place: Int16Array;
  /** Natural log of the probability that the next note begins there and all places in between stay empty. */
  readonly logProb: Float64Array;
  /** The same across a rest, after which a phrase may begin anywhere, however full the bars are. */
  readonly logProbRest: Float64Array;
  /** At `p * (longestTicks + 1) + t`: where in the row of place p the steps of at least t ticks begin. */
  readonly atLeast: Int32Array;
}

/** Every step of at most `longestTicks` from every place of a bar plan. */
export function barSteps(plan: BarPlan, longestTicks: number): BarSteps {
  const { places, onsetShare, barTicks } = plan;
  const width = places.length;
  const most = width * longestTicks;
  const begin = new Int32Array(width + 1);
  const atLeast = new Int32Array(width * (longestTicks + 1));
  const ticks = new Int16Array(most);
  const place = new Int16Array(most);
  const logProb = new Float64Array(most);
  const logProbRest = new Float64Array(most);
  const all = onsetShare.reduce((sum, share) => sum + share, 0) * (longestTicks / barTicks);
  let count = 0;
  for (let from = 0; from < width; from++) {
    const row = from * (longestTicks + 1);
    let logEmpty = 0;
    let next = 0;
    for (let after = from + 1; ; after++) {
      const to = after % width;
      const distance = Math.floor(after / width) * barTicks + places[to] - places[from];
      if (distance > longestTicks) break;
      const share = shareAfter(plan, from, to, distance);
      if (share === 0) continue;
      while (next <= distance) atLeast[row + next++] = count;
      ticks[count] = distance;
      place[count] = to;
      logProb[count] = logEmpty + Math.log(share);
      const anew = onsetShare[to] / all;
      logProbRest[count] = Math.log((1 - ANEW_SHARE) * Math.exp(logEmpty) * share + ANEW_SHARE * anew);
      logEmpty += Math.log(1 - share);
      count++;
    }
    while (next <= longestTicks) atLeast[row + next++] = count;
    begin[from + 1] = count;
  }
  return {
    begin,
    ticks: ticks.slice(0, count),
    place: place.slice(0, count),
    logProb: logProb.slice(0, count),
    logProbRest: logProbRest.slice(0, count),
    atLeast,
  };
}

function shareAfter(plan: BarPlan, from: number, to: number, ticks: number): number {
  const start = plan.places[from];
  const target = plan.places[to];
  const sameBeat =
    Math.floor(start / TICKS_PER_BEAT) === Math.floor(target / TICKS_PER_BEAT) && ticks < TICKS_PER_BEAT;
  if (sameBeat && start % TICKS_PER_BEAT !== 0) {
    // A beat is divided either by three or by two and four, never both.
    if (start % 3 !== 0) return target % 3 === 0 ? 0 : GOES_ON_SHARE;
    if (target % 3 !== 0) return 0;
    if (start % 6 !== 0) return GOES_ON_SHARE;
  }
  const share = plan.onsetShare[to];
  const own = plan.onsetShare[from];
  const factor = share > own ? OVER_STRONGER_ODDS : share < own ? OVER_WEAKER_ODDS : 1;
  const odds = (share / (1 - share)) * factor;
  return odds / (1 + odds);
}
