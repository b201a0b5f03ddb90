import { median, quantile } from '../../statistics.ts';
import { powerToDb } from '../../units.ts';
import { LANES } from './quad-transform.ts';

/** Partials weaker than this, in power relative to the strongest, are ignored. */
const WEAKEST_PARTIAL = 3e-4;
/** A partial's usual power is this quantile, so that much of the stretch may be silent. */
const LOUD_QUANTILE = 0.75;
/** Lower bound for the usual power of the strongest partial, for digital silence. */
const LEAST_STRONGEST = 1e-14;
/** Lower bounds for a partial's power, relative to its own usual power and to the strongest's. */
const OWN_FLOOR = 1e-3;
const STRONGEST_FLOOR = 3e-6;
/** Lower bound for a partial's change, relative to its usual power: smaller changes are rounding noise. */
const LEAST_STEP = 1e-4;
/** Limits on a partial's change relative to its usual change, so that no single partial outvotes the others. */
const MOST_TIMES = Math.exp(4);
const NO_CHANGE = 0.1;

/** A row of the tracks that is loud enough to count, and its usual power. */
interface LoudPartial {
  readonly row: number;
  readonly usual: number;
}

/**
 * The partials of one pitch, tick by tick: the power of each in three bins, and its complex amplitude in the middle one.
 * Reused for each stretch, as allocating the memory takes longer than filling it.
 */
export class PartialTracks {
  /** For each bin, the rotation that refers a phase to the middle of the stretch, where it does not depend on the bin. */
  readonly #cos: Float64Array;
  readonly #sin: Float64Array;
  #ticks = 0;
  #f0Hz: Float64Array = new Float64Array(0);
  #binHz = 1;
  #numbers: readonly number[] = [];
  /** A row for each partial, one after the other. */
  #power = new Float32Array(0);
  #re = new Float32Array(0);
  #im = new Float32Array(0);
  #loud: readonly LoudPartial[] = [];
  #strongest = LEAST_STRONGEST;

  /** @param turnsByBin  turns of each bin's frequency from the start of a stretch to its middle */
  constructor(turnsByBin: Float64Array) {
    this.#cos = turnsByBin.map((turns) => Math.cos(2 * Math.PI * (turns % 1)));
    this.#sin = turnsByBin.map((turns) => Math.sin(2 * Math.PI * (turns % 1)));
  }

  /**
   * Begins a stretch.
   * @param numbers  of the partials to follow, ascending
   * @param f0Hz  frequency of the first at each tick
   */
  begin(numbers: readonly number[], f0Hz: Float64Array, binHz: number): void {
    this.#numbers = numbers;
    this.#ticks = f0Hz.length;
    this.#f0Hz = f0Hz;
    this.#binHz = binHz;
    const room = numbers.length * f0Hz.length;
    if (this.#power.length >= room) return;
    this.#power = new Float32Array(2 * room);
    this.#re = new Float32Array(2 * room);
    this.#im = new Float32Array(2 * room);
  }

  /** Stores the powers of up to four ticks from one on. @param power  their spectra, one in each lane */
  takePowers(from: number, power: Float32Array): void {
    const lanes = Math.min(LANES, this.#ticks - from);
    for (let lane = 0; lane < lanes; lane++) this.#takePower(from + lane, power, lane);
  }

  #takePower(tick: number, power: Float32Array, lane: number): void {
    const numbers = this.#numbers;
    const tracks = this.#power;
    const step = this.#f0Hz[tick] / this.#binHz;
    for (let row = 0, to = tick; row < numbers.length; row++, to += this.#ticks) {
      const at = LANES * this.#binOf(numbers[row], step) + lane;
      tracks[to] = power[at - LANES] + power[at] + power[at + LANES];
    }
  }

  /** Stores complex amplitudes, as `takePowers` does the powers. */
  takeAmplitudes(from: number, complex: Float32Array): void {
    const lanes = Math.min(LANES, this.#ticks - from);
    for (let lane = 0; lane < lanes; lane++) this.#takeAmplitude(from + lane, complex, lane);
  }

  #takeAmplitude(tick: number, complex: Float32Array, lane: number): void {
    const numbers = this.#numbers;
    const tracksRe = this.#re;
    const tracksIm = this.#im;
    const cos = this.#cos;
    const sin = this.#sin;
    const step = this.#f0Hz[tick] / this.#binHz;
    for (let row = 0, to = tick; row < numbers.length; row++, to += this.#ticks) {
      const bin = this.#binOf(numbers[row], step);
      const re = complex[2 * LANES * bin + lane];
      const im = complex[2 * LANES * bin + LANES + lane];
      tracksRe[to] = re * cos[bin] - im * sin[bin];
      tracksIm[to] = re * sin[bin] + im * cos[bin];
    }
  }

  #binOf(number: number, step: number): number {
    return Math.min(this.#cos.length - 2, Math.max(1, Math.round(number * step)));
  }

  /** Ends a stretch: finds which partials count. */
  end(): void {
    const usual = this.#numbers.map((_, row) => quantile(this.#rowOf(this.#power, row), LOUD_QUANTILE));
    this.#strongest = Math.max(LEAST_STRONGEST, ...usual);
    this.#loud = usual
      .map((power, row) => ({ row, usual: power }))
      .filter(({ usual: power }) => power >= this.#strongest * WEAKEST_PARTIAL);
  }

  #rowOf(tracks: Float32Array, row: number): Float32Array {
    return tracks.subarray(row * this.#ticks, (row + 1) * this.#ticks);
  }

  /** The mean level of the partials, in dB re full scale. */
  meanLevel(): Float32Array {
    const count = this.#ticks;
    const strongest = this.#strongest;
    // One logarithm of the product of all partials; relative to the strongest, the product stays above 1e-111.
    const product = new Float64Array(count).fill(1);
    for (const { row, usual } of this.#loud) {
      const floor = Math.max(usual * OWN_FLOOR, strongest * STRONGEST_FLOOR);
      const power = this.#rowOf(this.#power, row);
      for (let i = 0; i < count; i++) product[i] *= (power[i] + floor) / strongest;
    }
    const used = this.#loud.length;
    const strongestDb = powerToDb(strongest);
    const level = new Float32Array(count);
    if (used > 0) for (let i = 0; i < count; i++) level[i] = powerToDb(product[i]) / used + strongestDb;
    return level;
  }

  /**
   * How far the partials deviate from turning on steadily, relative to how far they usually do, in nats (ln of power): the
   * complex-domain difference of Bello et al., "On the use of phase and energy for musical onset detection in the complex
   * domain" (IEEE Signal Processing Letters 11(6), 553-556, 2004), partial by partial. Where the tail of a room fills the
   * gap before a new attack and hides it from the level, the phase still shows it.
   * @param turn1  how far the first partial turns between the neighbours of each tick, in radians
   */
  meanNovelty(turn1: Float64Array): Float32Array {
    const count = this.#ticks;
    const step = new Float32Array(count);
    // Rotation of the first partial, and of the current one.
    const cos1 = turn1.map(Math.cos);
    const sin1 = turn1.map(Math.sin);
    const cos = new Float64Array(count).fill(1);
    const sin = new Float64Array(count);
    let turned = 0;
    // One logarithm of the product of all partials.
    const product = new Float64Array(count).fill(1);
    for (const { row, usual } of this.#loud) {
      for (; turned < this.#numbers[row]; turned++) turnOn(cos, sin, cos1, sin1);
      fillSteps(step, this.#rowOf(this.#re, row), this.#rowOf(this.#im, row), cos, sin);
      multiplySteps(product, step, median(step) + LEAST_STEP * usual);
    }
    const used = this.#loud.length;
    const change = new Float32Array(count);
    if (used > 0) for (let i = 0; i < count; i++) change[i] = Math.log(product[i]) / used;
    return change;
  }
}

/** Rotates each by the angle of the other pair. */
function turnOn(cos: Float64Array, sin: Float64Array, cos1: Float64Array, sin1: Float64Array): void {
  for (let i = 0; i < cos.length; i++) {
    const turned = cos[i] * cos1[i] - sin[i] * sin1[i];
    sin[i] = cos[i] * sin1[i] + sin[i] * cos1[i];
    cos[i] = turned;
  }
}

function multiplySteps(product: Float64Array, step: Float32Array, least: number): void {
  for (let i = 0; i < step.length; i++) product[i] *= Math.min(MOST_TIMES, step[i] / least + NO_CHANGE);
}

/** For each tick, the squared distance of its later neighbour from its earlier one turned on. */
function fillSteps(
  step: Float32Array,
  re: Float32Array,
  im: Float32Array,
  cos: Float64Array,
  sin: Float64Array,
): void {
  const last = step.length - 1;
  for (let i = 0; i <= last; i++) {
    const before = Math.max(0, i - 1);
    const after = Math.min(last, i + 1);
    const stepRe = re[after] - (re[before] * cos[i] - im[before] * sin[i]);
    const stepIm = im[after] - (re[before] * sin[i] + im[before] * cos[i]);
    step[i] = stepRe * stepRe + stepIm * stepIm;
  }
}
