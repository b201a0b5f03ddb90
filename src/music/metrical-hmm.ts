import { type BarPlan, TICKS_PER_BEAT } from './metre.ts';

/** What is heard of each note: when it begins, and the rest before it. */
export interface HeardOnset {
  readonly onsetSec: number;
  /** Seconds of rest before the note when the player may have breathed there; 0 when the sound went on. */
  readonly restSec: number;
}

/** The likeliest reading of a row of onsets on one bar plan. */
export interface MetricalPath {
  /** For each note, ticks from the first bar line at or before the first note. */
  readonly atTicks: number[];
  /** For each note, seconds a beat on the way to it. */
  readonly beatSec: number[];
  /** Natural log of the probability of path and times; comparable between plans for the same onsets. */
  readonly logLik: number;
}

export interface MetricalOptions {
  /** Tempo that is given, in beats a minute; searched for when null. */
  readonly tempoBpm: number | null;
}

/** Tempo states: beats a minute, and the step between neighbours. */
const SLOWEST_BPM = 36;
const FASTEST_BPM = 250;
const TEMPO_STEP = 0.04;
/** Log probability of keeping the tempo state from note to note, and of going to a neighbour. */
const TEMPO_KEEP = Math.log(0.86);
const TEMPO_MOVE = Math.log(0.07);
/** Preferred pulse and spread of its log10 (Parncutt, Music Perception 11(4), 409-464, 1994). */
const PULSE_SEC = 0.6;
const PULSE_SPREAD_LN = 0.2 * Math.LN10;
/**
 * How much of that preference each note carries: with none, long takes drift to where the grid is coarsest. Of 1, 1.5
 * and 2.5, the middle had the most note values right (tests/bench/beats.ts).
 */
const PULSE_WEIGHT = 1.5;
/** A given tempo may be missed by this, in natural log. */
const GIVEN_SPREAD_LN = 0.06;

/** Spread of the time from onset to onset: a fixed part (both onsets), and a share of the time (loose tempo). */
const JITTER_SEC = 0.022;
const JITTER_SHARE = 0.035;
/** Log density of a time that fits nowhere (a slip), per second. */
const SLIP = -9;
/** Times further off than this many spreads are slips: the rest of the normal curve is under a hundredth of one. */
const FARTHEST_SPREADS = 6;
/** Times so far above a slip, in natural log, that slips need not be tried beside them. */
const NO_SLIP = 0.5;
/** Longest time between two onsets, in ticks. */
const LONGEST_TICKS = 12 * TICKS_PER_BEAT;
/** A rest may be kept in time, stretched for breath, or cut short: shares, and how far in seconds. */
const REST = {
  kept: 0.35,
  stretched: 0.5,
  cut: 0.1,
  waited: 0.05,
  stretchSec: 0.3,
  cutSec: 0.15,
  waitSec: 4,
};
/** Odds that a note goes on over a place stronger than its own are lower, over a weaker one higher (length accent). */
const OVER_STRONGER_ODDS = 2.5;
const OVER_WEAKER_ODDS = 0.7;
/** Inside a beat that is already divided, the next place of the same division is mostly taken. */
const GOES_ON_SHARE = 0.75;
/** Paths this much less likely than the best, in natural log, are given up. */
const BEAM = 15;

interface Arrival {
  /** From the source place, in ticks. */
  readonly ticks: number;
  readonly place: number;
  readonly logProb: number;
}

/**
 * Reads onsets on a metrical grid: a hidden Markov model whose states are the place in the bar and the tempo, and
 * whose observations are the times from onset to onset (Raphael, Artificial Intelligence 137, 217-238, 2002; "metrical
 * HMM" in Nakamura, Yoshii & Sagayama, IEEE/ACM TASLP 25(4), 794-806, 2017). Places carry notes with the probability
 * of their level (Temperley 2007); at rests the clock may stand still for a breath. Decoded by Viterbi with a beam.
 * @param onsets  in time order; at least one
 */
export function readOnGrid(
  onsets: readonly HeardOnset[],
  plan: BarPlan,
  options: MetricalOptions,
): MetricalPath {
  const tempos = tempoStates();
  const arrivals = plan.places.map((_, place) => arrivalsFrom(plan, place));
  const width = plan.places.length;
  const size = tempos.length * width;
  const liking = tempos.map((beatSec) => tempoScore(beatSec, plan, options));
  let score = startScores(plan, liking);
  const back: Int32Array[] = [];
  const step: Int16Array[] = [];
  for (let n = 1; n < onsets.length; n++) {
    const sec = onsets[n].onsetSec - onsets[n - 1].onsetSec;
    const next = new Float64Array(size).fill(Number.NEGATIVE_INFINITY);
    const from = new Int32Array(size);
    const ticks = new Int16Array(size);
    const least = max(score) - BEAM;
    const timed = timeScores(sec, onsets[n].restSec, tempos);
    for (let s = 0; s < size; s++) {
      if (score[s] < least) continue;
      const tempo = Math.floor(s / width);
      for (let t = Math.max(0, tempo - 1); t <= Math.min(tempos.length - 1, tempo + 1); t++) {
        const here = score[s] + (t === tempo ? TEMPO_KEEP : TEMPO_MOVE) + PULSE_WEIGHT * liking[t];
        const [fewest, most] = timed.reach[t];
        for (const arrival of arrivals[s % width]) {
          if (arrival.ticks < fewest) continue;
          if (arrival.ticks > most) break;
          const gained = here + arrival.logProb;
          const to = t * width + arrival.place;
          if (gained <= next[to]) continue;
          const candidate = gained + timed.scores[t * (LONGEST_TICKS + 1) + arrival.ticks];
          if (candidate <= next[to]) continue;
          next[to] = candidate;
          from[to] = s;
          ticks[to] = arrival.ticks;
        }
      }
    }
    score = next;
    back.push(from);
    step.push(ticks);
  }
  return tracePath(score, back, step, plan, tempos);
}

function max(values: Float64Array): number {
  let most = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < values.length; i++) if (values[i] > most) most = values[i];
  return most;
}

/** Seconds a beat, slow to fast. */
function tempoStates(): number[] {
  const states: number[] = [];
  for (let bpm = SLOWEST_BPM; bpm <= FASTEST_BPM; bpm *= 1 + TEMPO_STEP) states.push(60 / bpm);
  return states;
}

/** How far a tempo is from what is given or liked, as a log density without its constant. */
function tempoScore(beatSec: number, plan: BarPlan, { tempoBpm }: MetricalOptions): number {
  const pulseSec = (beatSec * plan.pulseTicks) / TICKS_PER_BEAT;
  const away =
    tempoBpm === null
      ? Math.log(pulseSec / PULSE_SEC) / PULSE_SPREAD_LN
      : Math.log((beatSec * tempoBpm) / 60) / GIVEN_SPREAD_LN;
  return -0.5 * away * away;
}

function startScores(plan: BarPlan, liking: readonly number[]): Float64Array {
  const width = plan.places.length;
  const total = plan.onsetShare.reduce((sum, share) => sum + share, 0);
  return Float64Array.from(
    { length: liking.length * width },
    (_, s) => liking[Math.floor(s / width)] + Math.log(plan.onsetShare[s % width] / total),
  );
}

/** Log probability of each next place after a note at `place`: all places between stay empty. */
function arrivalsFrom(plan: BarPlan, place: number): Arrival[] {
  const arrivals: Arrival[] = [];
  const start = plan.places[place];
  let logEmpty = 0;
  let bar = 0;
  for (let p = place + 1; ; p++) {
    if (p === plan.places.length) {
      p = 0;
      bar += plan.barTicks;
    }
    const ticks = bar + plan.places[p] - start;
    if (ticks > LONGEST_TICKS) return arrivals;
    const share = shareAfter(plan, place, p, ticks);
    if (share === 0) continue;
    arrivals.push({ ticks, place: p, logProb: logEmpty + Math.log(share) });
    logEmpty += Math.log(1 - share);
  }
}

function shareAfter(plan: BarPlan, from: number, to: number, ticks: number): number {
  const start = plan.places[from];
  const target = plan.places[to];
  const sameBeat =
    Math.floor(start / TICKS_PER_BEAT) === Math.floor(target / TICKS_PER_BEAT) && ticks < TICKS_PER_BEAT;
  if (sameBeat && start % TICKS_PER_BEAT !== 0) {
    // A beat is divided in one way: by three or by two and four.
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

/** `timeScore` for every tempo and distance in ticks, and for each tempo the distances that are no mere slip. */
function timeScores(sec: number, restSec: number, tempos: readonly number[]) {
  const scores = new Float64Array(tempos.length * (LONGEST_TICKS + 1));
  const reach: [fewest: number, most: number][] = [];
  for (let t = 0; t < tempos.length; t++) {
    let fewest = 0;
    let most = LONGEST_TICKS;
    for (let ticks = 1; ticks <= LONGEST_TICKS; ticks++) {
      const score = timeScore(sec, (ticks / TICKS_PER_BEAT) * tempos[t], restSec);
      scores[t * (LONGEST_TICKS + 1) + ticks] = score;
      if (score <= SLIP + NO_SLIP) continue;
      if (fewest === 0) fewest = ticks;
      most = ticks;
    }
    // A beat more on either side, so that from every place some other one is in reach.
    reach.push(fewest === 0 ? [1, LONGEST_TICKS] : [fewest - TICKS_PER_BEAT, most + TICKS_PER_BEAT]);
  }
  return { scores, reach };
}

/** Log density of a time between onsets, given what the score says it should be. */
function timeScore(sec: number, expectedSec: number, restSec: number): number {
  const share = JITTER_SHARE * expectedSec;
  const spread = Math.sqrt(JITTER_SEC * JITTER_SEC + share * share);
  const late = sec - expectedSec;
  if (restSec === 0 && Math.abs(late) > FARTHEST_SPREADS * spread) return SLIP;
  const away = late / spread;
  const kept = Math.exp(-0.5 * away * away) / (spread * Math.sqrt(2 * Math.PI));
  if (restSec === 0) return Math.log(kept + Math.exp(SLIP));
  // The clock stands still no longer than the rest: the note itself is never longer than written.
  if (late > restSec + spread) return SLIP;
  const moved =
    late >= 0
      ? (REST.stretched * Math.exp(-late / REST.stretchSec)) / REST.stretchSec +
        (REST.waited * Math.exp(-late / REST.waitSec)) / REST.waitSec
      : (REST.cut * Math.exp(late / REST.cutSec)) / REST.cutSec;
  return Math.log(REST.kept * kept + moved + Math.exp(SLIP));
}

function tracePath(
  score: Float64Array,
  back: readonly Int32Array[],
  step: readonly Int16Array[],
  plan: BarPlan,
  tempos: readonly number[],
): MetricalPath {
  const width = plan.places.length;
  let state = 0;
  for (let s = 1; s < score.length; s++) if (score[s] > score[state]) state = s;
  const logLik = score[state];
  const steps: number[] = [];
  const beatSec: number[] = [];
  for (let n = back.length - 1; n >= 0; n--) {
    beatSec.unshift(tempos[Math.floor(state / width)]);
    steps.unshift(step[n][state]);
    state = back[n][state];
  }
  beatSec.unshift(tempos[Math.floor(state / width)]);
  const atTicks = [plan.places[state % width]];
  for (const ticks of steps) atTicks.push(atTicks[atTicks.length - 1] + ticks);
  return { atTicks, beatSec, logLik };
}
