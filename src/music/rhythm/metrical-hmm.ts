import type { BarSteps } from './bar-steps.ts';
import type { BarPlan } from './metre.ts';
import { PULSE_WEIGHT, TEMPO_KEEP, TEMPO_MOVE, type TempoOptions, tempoScore, tempoStates } from './tempo.ts';
import { LONGEST_TICKS, SLIP, TimeScores } from './time-scores.ts';

/** What is heard of each note: when it begins, and the rest before it. */
export interface HeardOnset {
  readonly onsetSec: number;
  /** Seconds of rest before the note when the player may have breathed there; 0 when the sound went on. */
  readonly restSec: number;
}

/** The likeliest reading of a row of onsets on one bar plan. */
export interface MetricalPath {
  /** For each note, ticks from the first bar line at or before the first note. */
  readonly atTicks: readonly number[];
  /** For each note, seconds a beat on the way to it. */
  readonly beatSec: readonly number[];
  /** Natural log of the probability of path and times; comparable between plans for the same onsets. */
  readonly logLik: number;
}

/** A bar plan, the steps that notes may take on it (up to `LONGEST_TICKS`), and the natural log of its prior. */
export interface PlanPrior {
  readonly plan: BarPlan;
  readonly steps: BarSteps;
  readonly logPrior: number;
}

/** Paths this much less likely than the best of their plan, in natural log, are given up. */
const BEAM = 12;
/** Plans this much less likely than the best one so far, in natural log, are given up. */
const PLAN_BEAM = 40;

/**
 * Reads onsets on metrical grids: a hidden Markov model whose states are the place in the bar and the tempo, and
 * whose observations are the times from onset to onset (Raphael, Artificial Intelligence 137, 217-238, 2002; "metrical
 * HMM" in Nakamura, Yoshii & Sagayama, IEEE/ACM TASLP 25(4), 794-806, 2017). Places carry notes with the probability
 * of their level (Temperley 2007); at rests the clock may stand still for a breath. Decoded by Viterbi with a beam, all
 * plans side by side.
 * @param onsets  in time order; at least one
 * @param plans  at least one
 * @returns for each plan its likeliest path, its prior left aside; null when it fell too far behind
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

/** The states that one note kept within the beam: each with where it came from, as a position in the note before. */
interface KeptStates {
  readonly state: Int32Array;
  readonly from: Int32Array;
  readonly ticks: Int16Array;
}

/** Viterbi decoding of one plan, note by note; state: tempo × places + place. */
class PlanDecoder {
  readonly #plan: BarPlan;
  readonly #tempos: readonly number[];
  readonly #steps: BarSteps;
  readonly #liking: number[];
  readonly #width: number;
  /** Scores of all states at this note, and of those at the next. */
  #score: Float64Array;
  #next: Float64Array;
  readonly #nextFrom: Int32Array;
  readonly #nextTicks: Int16Array;
  /** Scores after the change of tempo, before the step in the bar, and positions of the kept states they came from. */
  readonly #moved: Float64Array;
  readonly #movedFrom: Int32Array;
  readonly #kept: KeptStates[] = [];
  /** Where those within the beam are gathered. */
  readonly #within: Int32Array;
  /** Scores below this will not be kept. */
  #least = Number.NEGATIVE_INFINITY;
  /** Score of the best state. */
  best = Number.NEGATIVE_INFINITY;

  constructor({ plan, steps }: PlanPrior, tempos: readonly number[], options: TempoOptions) {
    this.#plan = plan;
    this.#tempos = tempos;
    this.#steps = steps;
    this.#liking = tempos.map((beatSec) => tempoScore(beatSec, plan, options));
    this.#width = plan.places.length;
    const size = tempos.length * this.#width;
    const total = plan.onsetShare.reduce((sum, share) => sum + share, 0);
    this.#score = new Float64Array(size);
    const logShares = plan.onsetShare.map((share) => Math.log(share / total));
    for (let s = 0; s < size; s++) {
      this.#score[s] = this.#liking[Math.floor(s / this.#width)] + logShares[s % this.#width];
    }
    this.#next = new Float64Array(size);
    this.#nextFrom = new Int32Array(size);
    this.#nextTicks = new Int16Array(size);
    this.#moved = new Float64Array(size);
    this.#movedFrom = new Int32Array(size);
    this.#within = new Int32Array(size);
    this.#keep();
  }

  /** Goes on to the next note. @returns score of its best state */
  step(times: TimeScores): number {
    const likeliest = this.#changeTempo();
    this.#next.fill(Number.NEGATIVE_INFINITY);
    // The likeliest state first: what cannot come within the beam of where it leads is left out.
    this.#least = Number.NEGATIVE_INFINITY;
    this.#arrive(Math.floor(likeliest / this.#width), likeliest % this.#width, times);
    for (let tempo = 0, state = 0; tempo < this.#tempos.length; tempo++) {
      for (let place = 0; place < this.#width; place++, state++) {
        if (this.#moved[state] > Number.NEGATIVE_INFINITY) this.#arrive(tempo, place, times);
      }
    }
    [this.#score, this.#next] = [this.#next, this.#score];
    this.#keep();
    return this.best;
  }

  /** From every kept state to the tempos beside it. @returns the likeliest state then */
  #changeTempo(): number {
    const { state } = this.#kept[this.#kept.length - 1];
    const width = this.#width;
    const moved = this.#moved;
    moved.fill(Number.NEGATIVE_INFINITY);
    let likeliest = state[0];
    for (let k = 0; k < state.length; k++) {
      const s = state[k];
      const tempo = Math.floor(s / width);
      for (let t = Math.max(0, tempo - 1); t <= Math.min(this.#tempos.length - 1, tempo + 1); t++) {
        const to = s + (t - tempo) * width;
        const score =
          this.#score[s] + (t === tempo ? TEMPO_KEEP : TEMPO_MOVE) + PULSE_WEIGHT * this.#liking[t];
        if (score <= moved[to]) continue;
        moved[to] = score;
        this.#movedFrom[to] = k;
        if (score > moved[likeliest]) likeliest = to;
      }
    }
    return likeliest;
  }

  #arrive(tempo: number, place: number, times: TimeScores): void {
    times.know(tempo);
    const first = tempo * this.#width;
    const here = this.#moved[first + place];
    if (here + times.peak[tempo] < this.#least) return;
    const { begin, ticks, place: places, atLeast } = this.#steps;
    const logProb = times.rests ? this.#steps.logProbRest : this.#steps.logProb;
    const { scores } = times;
    const next = this.#next;
    const nextFrom = this.#nextFrom;
    const nextTicks = this.#nextTicks;
    const from = this.#movedFrom[first + place];
    const row = tempo * (LONGEST_TICKS + 1);
    const slips = here + SLIP >= this.#least;
    const most = slips ? times.most[tempo] : times.likelyMost[tempo];
    const fewest = slips ? times.fewest[tempo] : Math.min(LONGEST_TICKS, times.likelyFewest[tempo]);
    const end = begin[place + 1];
    let best = this.#least + BEAM;
    for (let a = atLeast[place * (LONGEST_TICKS + 1) + fewest]; a < end; a++) {
      const distance = ticks[a];
      if (distance > most) break;
      const to = first + places[a];
      const score = here + logProb[a] + scores[row + distance];
      if (score <= next[to]) continue;
      next[to] = score;
      nextFrom[to] = from;
      nextTicks[to] = distance;
      if (score > best) best = score;
    }
    this.#least = best - BEAM;
  }

  /** Keeps the states within the beam. */
  #keep(): void {
    const score = this.#score;
    let best = Number.NEGATIVE_INFINITY;
    for (let s = 0; s < score.length; s++) if (score[s] > best) best = score[s];
    const least = best - BEAM;
    const within = this.#within;
    let count = 0;
    for (let s = 0; s < score.length; s++) if (score[s] >= least) within[count++] = s;
    const state = within.slice(0, count);
    const from = new Int32Array(count);
    const ticks = new Int16Array(count);
    for (let k = 0; k < count; k++) {
      from[k] = this.#nextFrom[state[k]];
      ticks[k] = this.#nextTicks[state[k]];
    }
    this.best = best;
    this.#kept.push({ state, from, ticks });
  }

  /** The likeliest path to the note that was reached. */
  path(): MetricalPath {
    const last = this.#kept[this.#kept.length - 1].state;
    let k = last.findIndex((state) => this.#score[state] === this.best);
    const beatSec: number[] = [];
    const steps: number[] = [];
    for (let n = this.#kept.length - 1; n >= 0; n--) {
      const { state, from, ticks } = this.#kept[n];
      beatSec.push(this.#tempos[Math.floor(state[k] / this.#width)]);
      if (n > 0) steps.push(ticks[k]);
      else steps.push(this.#plan.places[state[k] % this.#width]);
      k = from[k];
    }
    beatSec.reverse();
    let at = 0;
    const atTicks = steps.reverse().map((ticks) => {
      at += ticks;
      return at;
    });
    return { atTicks, beatSec, logLik: this.best };
  }
}
