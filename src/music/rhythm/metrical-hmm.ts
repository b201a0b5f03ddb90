import type { BarSteps } from './bar-steps.ts';
import type { BarPlan } from './metre.ts';
import { PULSE_WEIGHT, TEMPO_KEEP, TEMPO_MOVE, type TempoOptions, tempoScore, tempoStates } from './tempo.ts';
import { aheadSec, LONGEST_TICKS, NOT_AHEAD, SLIP, TimeScores } from './time-scores.ts';

/** What is heard of each note: its onset, and the rest before it. */
export interface HeardOnset {
  readonly onsetSec: number;
  /** Seconds of rest before the note, in which the player may have breathed; 0 if the sound went on. */
  readonly restSec: number;
}

/** The likeliest reading of a row of onsets on one bar plan. */
export interface MetricalPath {
  /** For each note, ticks from the first bar line at or before the first note. */
  readonly atTicks: readonly number[];
  /** For each note, seconds per beat on the way to it. */
  readonly beatSec: readonly number[];
  /** For each note, how far the player's clock is ahead of its onset, in seconds. */
  readonly aheadSec: readonly number[];
  /** Natural log of the probability of path and times; for the same onsets comparable between plans. */
  readonly logLik: number;
}

/** A bar plan, the steps that notes may take on it (up to `LONGEST_TICKS`), and the natural log of its prior. */
export interface PlanPrior {
  readonly plan: BarPlan;
  readonly steps: BarSteps;
  readonly logPrior: number;
}

/** Seconds to note n (n ≥ 1) from the player's clock at the note before; after a rest the clock starts afresh. */
export function clockSec(onsets: readonly HeardOnset[], { aheadSec }: MetricalPath, n: number): number {
  const { onsetSec, restSec } = onsets[n];
  return onsetSec - onsets[n - 1].onsetSec - (restSec > 0 ? 0 : aheadSec[n - 1]);
}

/** Paths less likely than the best of their plan by this, in natural log, are dropped. */
const BEAM = 9;
/** Initial capacity in states; it grows when needed. */
const KEPT_AT_FIRST = 4096;
/** Plans less likely than the best so far by this, in natural log, are dropped. */
const PLAN_BEAM = 40;

/**
 * Reads onsets on metrical grids with a hidden Markov model whose states are the place in the bar and the tempo, and whose
 * observations are the times from onset to onset (Raphael, Artificial Intelligence 137, 217-238, 2002; "metrical HMM"
 * in Nakamura, Yoshii & Sagayama, IEEE/ACM TASLP 25(4), 794-806, 2017). The probability that a place carries a note
 * follows from its level (Temperley 2007); at rests the clock may stand still for a breath. Viterbi decoding with a beam,
 * all plans side by side.
 * @param onsets  in time order; at least one
 * @param plans  at least one
 * @returns the likeliest path of each plan, without its prior; null for plans that fell too far behind
 */
export function readOnGrids(
  onsets: readonly HeardOnset[],
  plans: readonly PlanPrior[],
  options: TempoOptions,
): (MetricalPath | null)[] {
  const tempos = tempoStates();
  const times = new TimeScores(tempos);
  const decoders = plans.map((prior) => new PlanDecoder(prior, tempos, options));
  const going = new Set(decoders.keys());
  for (let n = 1; n < onsets.length; n++) {
    times.begin(onsets[n].onsetSec - onsets[n - 1].onsetSec, onsets[n].restSec);
    let best = Number.NEGATIVE_INFINITY;
    for (const d of going) best = Math.max(best, decoders[d].step(times) + plans[d].logPrior);
    for (const d of going) if (decoders[d].best + plans[d].logPrior < best - PLAN_BEAM) going.delete(d);
  }
  return decoders.map((decoder, d) => (going.has(d) ? decoder.path() : null));
}

/** The states within the beam at every note, each with the state that it came from. */
class KeptStates {
  /** Those of note n run from `begin[n]` to just before `begin[n + 1]`. */
  readonly begin = [0];
  state = new Int32Array(KEPT_AT_FIRST);
  from = new Int32Array(KEPT_AT_FIRST);
  ticks = new Int16Array(KEPT_AT_FIRST);
  ahead = new Uint8Array(KEPT_AT_FIRST);

  /** Makes room for `count` more states. */
  grow(count: number): void {
    const needed = this.begin[this.begin.length - 1] + count;
    if (needed <= this.state.length) return;
    const { state, from, ticks, ahead } = this;
    const length = 2 * needed;
    this.state = new Int32Array(length);
    this.from = new Int32Array(length);
    this.ticks = new Int16Array(length);
    this.ahead = new Uint8Array(length);
    this.state.set(state);
    this.from.set(from);
    this.ticks.set(ticks);
    this.ahead.set(ahead);
  }
}

/** Sets the scores of some states back to none. */
function forget(scores: Float64Array, states: Int32Array, count: number): void {
  for (let i = 0; i < count; i++) scores[states[i]] = Number.NEGATIVE_INFINITY;
}

/** Viterbi decoding of one plan, note by note; a state is tempo × places + place. */
class PlanDecoder {
  readonly #plan: BarPlan;
  readonly #tempos: readonly number[];
  readonly #steps: BarSteps;
  readonly #liking: Float64Array;
  readonly #width: number;
  /** Scores of all states at this note, and how each was reached. */
  readonly #score: Float64Array;
  readonly #nextFrom: Int32Array;
  readonly #nextTicks: Int16Array;
  readonly #nextAhead: Uint8Array;
  /** Scores after the change of tempo but before the step in the bar, and the kept states they came from. */
  readonly #moved: Float64Array;
  readonly #movedFrom: Int32Array;
  readonly #kept = new KeptStates();
  /** States moved, and states reached, since the last note, with their counts. */
  readonly #movedStates: Int32Array;
  #movedCount = 0;
  readonly #reached: Int32Array;
  #reachedCount = 0;
  readonly #tempoOf: Int32Array;
  /** States that score less than this will not be kept. */
  #least = Number.NEGATIVE_INFINITY;
  /** Score of the best state. */
  best = Number.NEGATIVE_INFINITY;

  constructor({ plan, steps }: PlanPrior, tempos: readonly number[], options: TempoOptions) {
    this.#plan = plan;
    this.#tempos = tempos;
    this.#steps = steps;
    this.#liking = Float64Array.from(tempos, (beatSec) => tempoScore(beatSec, plan, options));
    this.#width = plan.places.length;
    const size = tempos.length * this.#width;
    this.#score = new Float64Array(size);
    this.#tempoOf = new Int32Array(size);
    this.#reached = new Int32Array(size);
    this.#reachedCount = size;
    this.#begin();
    this.#nextFrom = new Int32Array(size);
    this.#nextTicks = new Int16Array(size);
    this.#nextAhead = new Uint8Array(size).fill(NOT_AHEAD);
    this.#moved = new Float64Array(size).fill(Number.NEGATIVE_INFINITY);
    this.#movedStates = new Int32Array(size);
    this.#movedFrom = new Int32Array(size);
    this.#keep();
  }

  /** Gives every state its score at the first note. */
  #begin(): void {
    const { onsetShare } = this.#plan;
    const total = onsetShare.reduce((sum, share) => sum + share, 0);
    const logShares = onsetShare.map((share) => Math.log(share / total));
    for (let tempo = 0, s = 0; tempo < this.#tempos.length; tempo++) {
      for (let place = 0; place < this.#width; place++, s++) {
        this.#score[s] = this.#liking[tempo] + logShares[place];
        this.#tempoOf[s] = tempo;
        this.#reached[s] = s;
      }
    }
  }

  /** Advances to the next note. @returns the score of its best state */
  step(times: TimeScores): number {
    const likeliest = this.#changeTempo();
    forget(this.#score, this.#reached, this.#reachedCount);
    this.#reachedCount = 0;
    // The likeliest state comes first, so that most others can be skipped as outside its beam.
    this.#least = Number.NEGATIVE_INFINITY;
    const logProb = times.rests ? this.#steps.logProbRest : this.#steps.logProb;
    this.#arrive(likeliest, times, logProb);
    for (let m = 0; m < this.#movedCount; m++) this.#arrive(this.#movedStates[m], times, logProb);
    this.#keep();
    return this.best;
  }

  /** Moves every kept state to the neighbouring tempos. @returns the likeliest state after that */
  #changeTempo(): number {
    const { state, begin } = this.#kept;
    const first = begin[begin.length - 2];
    const end = begin[begin.length - 1];
    const width = this.#width;
    const moved = this.#moved;
    const states = this.#movedStates;
    forget(moved, states, this.#movedCount);
    let count = 0;
    let likeliest = state[first];
    for (let k = first; k < end; k++) {
      const s = state[k];
      const tempo = this.#tempoOf[s];
      for (let t = Math.max(0, tempo - 1); t <= Math.min(this.#tempos.length - 1, tempo + 1); t++) {
        const to = s + (t - tempo) * width;
        const score =
          this.#score[s] + (t === tempo ? TEMPO_KEEP : TEMPO_MOVE) + PULSE_WEIGHT * this.#liking[t];
        if (score <= moved[to]) continue;
        if (moved[to] === Number.NEGATIVE_INFINITY) states[count++] = to;
        moved[to] = score;
        this.#movedFrom[to] = k;
        if (score > moved[likeliest]) likeliest = to;
      }
    }
    this.#movedCount = count;
    return likeliest;
  }

  /** Steps on from a state that was moved; `logProb` belongs to the steps. */
  #arrive(state: number, times: TimeScores, logProb: Float64Array): void {
    const tempo = this.#tempoOf[state];
    const first = tempo * this.#width;
    const place = state - first;
    const here = this.#moved[state];
    const from = this.#movedFrom[state];
    // At a rest the clock starts afresh.
    const lead = this.#kept.ahead[from];
    const before = times.rests ? NOT_AHEAD : lead;
    const row = times.know(tempo, before);
    if (here + times.peak[row] < this.#least) return;
    const { begin, ticks, place: places, atLeast } = this.#steps;
    const { scores, ahead } = times;
    const next = this.#score;
    const nextFrom = this.#nextFrom;
    const nextTicks = this.#nextTicks;
    const nextAhead = this.#nextAhead;
    const inRow = row * (LONGEST_TICKS + 1);
    const slips = here + SLIP >= this.#least;
    const within = slips ? times.withSlips : times.likely;
    const most = within.most[row];
    const fewest = Math.min(LONGEST_TICKS, within.fewest[row]);
    const end = begin[place + 1];
    const reached = this.#reached;
    let count = this.#reachedCount;
    let least = this.#least;
    for (let a = atLeast[place * (LONGEST_TICKS + 1) + fewest]; a < end; a++) {
      const distance = ticks[a];
      if (distance > most) break;
      const to = first + places[a];
      const score = here + logProb[a] + scores[inRow + distance];
      if (score < least || score <= next[to]) continue;
      if (next[to] === Number.NEGATIVE_INFINITY) reached[count++] = to;
      next[to] = score;
      nextFrom[to] = from;
      nextTicks[to] = distance;
      nextAhead[to] = ahead[inRow + distance];
      if (score - BEAM > least) least = score - BEAM;
    }
    this.#reachedCount = count;
    this.#least = least;
  }

  /** Keeps the states within the beam. */
  #keep(): void {
    const score = this.#score;
    const reached = this.#reached;
    let best = Number.NEGATIVE_INFINITY;
    for (let r = 0; r < this.#reachedCount; r++) if (score[reached[r]] > best) best = score[reached[r]];
    const least = best - BEAM;
    const kept = this.#kept;
    kept.grow(this.#reachedCount);
    let count = kept.begin[kept.begin.length - 1];
    for (let r = 0; r < this.#reachedCount; r++) {
      const s = reached[r];
      if (score[s] < least) continue;
      kept.state[count] = s;
      kept.from[count] = this.#nextFrom[s];
      kept.ticks[count] = this.#nextTicks[s];
      kept.ahead[count] = this.#nextAhead[s];
      count++;
    }
    kept.begin.push(count);
    this.best = best;
  }

  /** The likeliest path to the current note. */
  path(): MetricalPath {
    const { begin, state, from, ticks, ahead } = this.#kept;
    let k = state.findIndex((s, i) => i >= begin[begin.length - 2] && this.#score[s] === this.best);
    const beatSec: number[] = [];
    const clockAhead: number[] = [];
    const steps: number[] = [];
    for (let n = begin.length - 2; n >= 0; n--) {
      beatSec.push(this.#tempos[this.#tempoOf[state[k]]]);
      clockAhead.push(aheadSec(ahead[k]));
      if (n > 0) steps.push(ticks[k]);
      else steps.push(this.#plan.places[state[k] % this.#width]);
      k = from[k];
    }
    beatSec.reverse();
    clockAhead.reverse();
    let at = 0;
    const atTicks = steps.reverse().map((ticks) => {
      at += ticks;
      return at;
    });
    return { atTicks, beatSec, aheadSec: clockAhead, logLik: this.best };
  }
}
