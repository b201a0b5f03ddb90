import { Kernel } from '../../kernel.ts';
import type { BarSteps } from './bar-steps.ts';
import type { BarPlan } from './metre.ts';
import { PULSE_WEIGHT, TEMPO_KEEP, TEMPO_MOVE, type TempoOptions, tempoScore, tempoStates } from './tempo.ts';
import { aheadSec, SLIP, TimeScores } from './time-scores.ts';

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
  const kernel = new Kernel(TimeScores.bytesFor(tempos.length) + bytesFor(plans, tempos.length));
  const times = new TimeScores(kernel, tempos);
  const decoders = plans.map((prior) => new PlanDecoder(kernel, times, prior, tempos, options));
  const going = new Set(decoders.keys());
  for (let n = 1; n < onsets.length; n++) {
    times.begin(onsets[n].onsetSec - onsets[n - 1].onsetSec, onsets[n].restSec);
    let best = Number.NEGATIVE_INFINITY;
    for (const d of going) best = Math.max(best, decoders[d].step() + plans[d].logPrior);
    for (const d of going) if (decoders[d].best + plans[d].logPrior < best - PLAN_BEAM) going.delete(d);
  }
  return decoders.map((decoder, d) => (going.has(d) ? decoder.path() : null));
}

/** The states within the beam at every note, each with the state that it came from. */
class KeptStates {
  /** Those of note n run from `begin[n]` to just before `begin[n + 1]`. */
  readonly begin = [0];
  state = new Int32Array(KEPT_AT_FIRST);
  /** Counted from the first that was kept of the note before. */
  from = new Int32Array(KEPT_AT_FIRST);
  ticks = new Int16Array(KEPT_AT_FIRST);
  ahead = new Uint8Array(KEPT_AT_FIRST);

  /** Adds the states of the next note. */
  add(state: Uint32Array, from: Uint32Array, ticks: Uint32Array, ahead: Uint32Array): void {
    const at = this.begin[this.begin.length - 1];
    this.#grow(at + state.length);
    this.state.set(state, at);
    this.from.set(from, at);
    this.ticks.set(ticks, at);
    this.ahead.set(ahead, at);
    this.begin.push(at + state.length);
  }

  #grow(needed: number): void {
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

/** Bytes of the kernel's memory that the decoders of these plans take, at most. */
function bytesFor(plans: readonly PlanPrior[], tempos: number): number {
  const bytes = plans.map(
    ({ plan: { places }, steps }) =>
      (2 * 8 + 10 * 4) * tempos * places.length +
      8 * (tempos + places.length) +
      20 * steps.ticks.length +
      4 * (steps.begin.length + steps.atLeast.length) +
      1024,
  );
  return bytes.reduce((sum, one) => sum + one, 0);
}

/** Place of the count of kept states among the words of a decoder. */
const KEPT_COUNT = 2;

/** Viterbi decoding of one plan, note by note, in the kernel; a state is tempo × places + place. */
class PlanDecoder {
  readonly #plan: BarPlan;
  readonly #tempos: readonly number[];
  readonly #kernel: Kernel;
  readonly #times: TimeScores;
  /** Byte offset of what the kernel needs to know. */
  readonly #at: number;
  readonly #score: Float64Array;
  /** Byte offsets of what was kept of the last note (see `KeptStates.add`). */
  readonly #keptAt: readonly [state: number, from: number, ticks: number, ahead: number];
  readonly #kept = new KeptStates();
  /** Score of the best state. */
  best: number;

  constructor(
    kernel: Kernel,
    times: TimeScores,
    { plan, steps }: PlanPrior,
    tempos: readonly number[],
    options: TempoOptions,
  ) {
    this.#plan = plan;
    this.#tempos = tempos;
    this.#kernel = kernel;
    this.#times = times;
    const width = plan.places.length;
    const size = tempos.length * width;
    const liking = kernel.newDoubles(tempos.length);
    liking.set(tempos.map((beatSec) => tempoScore(beatSec, plan, options)));
    const total = plan.onsetShare.reduce((sum, share) => sum + share, 0);
    const logShares = kernel.keepDoubles(plan.onsetShare.map((share) => Math.log(share / total)));
    const words = (): number => kernel.reserve(size);
    this.#score = kernel.newDoubles(size);
    const moved = kernel.newDoubles(size);
    const next = [words(), words(), words()];
    const lists = [words(), words(), words()];
    this.#keptAt = [words(), words(), words(), words()];
    const shorts = (numbers: Int16Array): number => {
      const kept = kernel.newShorts(numbers.length);
      kept.set(numbers);
      return kept.byteOffset;
    };
    this.#at = kernel.keepWords([
      width,
      tempos.length,
      ...[0, 0, 0, 0],
      liking.byteOffset,
      this.#score.byteOffset,
      ...next,
      moved.byteOffset,
      ...lists,
      ...this.#keptAt,
      kernel.keepWords(steps.begin),
      shorts(steps.ticks),
      shorts(steps.place),
      kernel.keepWords(steps.atLeast),
      kernel.keepDoubles(steps.logProb),
      kernel.keepDoubles(steps.logProbRest),
    ]);
    this.best = kernel.code.open(this.#at, times.at, logShares, BEAM);
    this.#keep();
  }

  /** Advances to the next note. @returns the score of its best state */
  step(): number {
    const { code } = this.#kernel;
    const times = this.#times;
    times.answer(code.changeTempo(this.#at, times.at, TEMPO_KEEP, TEMPO_MOVE, PULSE_WEIGHT));
    this.best = code.arrive(this.#at, times.at, BEAM, SLIP);
    this.#keep();
    return this.best;
  }

  #keep(): void {
    const { words } = this.#kernel;
    const count = words[this.#at / 4 + KEPT_COUNT];
    const [state, from, ticks, ahead] = this.#keptAt.map((at) => words.subarray(at / 4, at / 4 + count));
    this.#kept.add(state, from, ticks, ahead);
  }

  /** The likeliest path to the current note. */
  path(): MetricalPath {
    const { begin, state, from, ticks, ahead } = this.#kept;
    const width = this.#plan.places.length;
    let k = state.findIndex((s, i) => i >= begin[begin.length - 2] && this.#score[s] === this.best);
    const beatSec: number[] = [];
    const clockAhead: number[] = [];
    const steps: number[] = [];
    for (let n = begin.length - 2; n >= 0; n--) {
      beatSec.push(this.#tempos[Math.floor(state[k] / width)]);
      clockAhead.push(aheadSec(ahead[k]));
      if (n > 0) steps.push(ticks[k]);
      else steps.push(this.#plan.places[state[k] % width]);
      k = (begin[n - 1] ?? 0) + from[k];
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
