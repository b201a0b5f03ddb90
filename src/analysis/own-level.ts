import type { Samples } from '../audio/samples.ts';
import { Kernel } from '../kernel.ts';
import { median, quantile } from '../statistics.ts';
import { midiToHz, powerToDb } from '../units.ts';
import { LANES } from './quad-transform.ts';
import { SpectrumQuad } from './spectrum.ts';

/** Levels are measured at every tick; two ticks make a frame. */
export const TICK_SEC = 0.005;

/** Short enough for a tongue's dip of 20 ms, long enough to part the partials of all but the lowest reeds. */
const WINDOW_SEC = 0.0174;
/** Partials are followed up to here; phones and codecs keep little above. */
const HIGHEST_PARTIAL_HZ = 6500;
const MOST_PARTIALS = 20;
/** Partials weaker than this against the strongest (power) are left out. */
const WEAKEST_PARTIAL = 3e-4;
/** A partial's usual power: so much of the stretch may be silence. */
const LOUD_QUANTILE = 0.75;
/** What a partial's power is floored at, against its own usual power and against the strongest's. */
const OWN_FLOOR = 1e-3;
const STRONGEST_FLOOR = 3e-6;
/** A partial's least step, against its usual power: below it, rounding is heard. */
const LEAST_STEP = 1e-4;
/** Bounds of a partial's change, as times its usual one: no single partial is to outvote the others. */
const MOST_TIMES = Math.exp(4);
const NO_CHANGE = 0.1;
/** Partials that tell one reed's sound from another's, and places in a note where they are measured. */
const TIMBRE_PARTIALS = 10;
const TIMBRE_PLACES = 8;
const LEAST_POWER = 1e-12;
/** Room for tables and spectra, twice what they take at most. */
const KERNEL_BYTES_PER_HZ = 8;

/** How a pitch sounds tick by tick. */
export interface OwnTrack {
  /** Mean of its partials' levels, in dB re full scale. */
  readonly levelDb: Float32Array;
  /** How much more than usual its partials changed over 10 ms, in nats (ln of power), -2.3 to 4. */
  readonly change: Float32Array;
}

interface Partial {
  readonly number: number;
  /** Power in three bins, tick by tick, and the complex amplitude at the middle one. */
  readonly power: Float32Array;
  readonly re: Float32Array;
  readonly im: Float32Array;
  /** The power that it usually has. */
  readonly usual: number;
}

/** The partials that are strong enough to count, and the usual power of the strongest. */
interface Partials {
  readonly partials: readonly Partial[];
  readonly strongest: number;
}

/**
 * How loud one pitch is by its own partials, tick by tick: the mean of the partials' levels in dB. The mean in
 * dB counts each partial alike, so that a room that swells some of them and dims others averages out, while a
 * breath or a tongue, which dims all, remains.
 */
export class OwnLevel {
  readonly #spectrum: SpectrumQuad;
  readonly #sampleRate: number;
  readonly #complexAt: number;
  readonly #complex: Float32Array;
  /** By bin, what turns an amplitude to the middle of the stretch, where the phase does not depend on the bin. */
  readonly #cos: Float64Array;
  readonly #sin: Float64Array;

  constructor(samples: Samples) {
    const kernel = new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate);
    this.#spectrum = new SpectrumQuad(kernel, samples, WINDOW_SEC);
    this.#sampleRate = samples.sampleRate;
    const { bins } = this.#spectrum.fourier;
    const count = 2 * LANES * bins;
    this.#cos = new Float64Array(bins);
    this.#sin = new Float64Array(bins);
    for (let bin = 0; bin < bins; bin++) {
      const turns = (this.#spectrum.length / 2) * bin * (this.#spectrum.binHz / samples.sampleRate);
      this.#cos[bin] = Math.cos(2 * Math.PI * (turns % 1));
      this.#sin[bin] = Math.sin(2 * Math.PI * (turns % 1));
    }
    this.#complexAt = kernel.reserve(count);
    this.#complex = kernel.floats.subarray(this.#complexAt / 4, this.#complexAt / 4 + count);
  }

  /**
   * @param fromTick first tick
   * @param midi pitch of each tick from there on, real-valued (A4 = 440 Hz)
   * @param avoidMidi a pitch whose partials may not be counted, as they are shared with another sound
   * @returns the level of each tick in dB re full scale (power of the mean partial)
   */
  measure(fromTick: number, midi: Float32Array, avoidMidi?: number): Float32Array {
    return meanLevel(this.#partials(fromTick, midi, avoidMidi), midi.length);
  }

  /** Level as `measure` gives it, and how much the sound changes, tick by tick. */
  follow(fromTick: number, midi: Float32Array): OwnTrack {
    const partials = this.#partials(fromTick, midi, undefined);
    return {
      levelDb: meanLevel(partials, midi.length),
      change: meanChange(partials, midi, this.#stepsSec(fromTick, midi.length)),
    };
  }

  /**
   * @param heldSec the held part of a note
   * @returns power of its first partials, in dB re full scale (mean of eight places in the held part)
   */
  partialLevels([fromSec, toSec]: readonly [number, number], midi: number): Float32Array {
    const { fourier, binHz } = this.#spectrum;
    const step = midiToHz(midi) / binHz;
    const sums = new Float64Array(TIMBRE_PARTIALS);
    for (let place = 0; place < TIMBRE_PLACES; place += LANES) {
      const at = (lane: number): number =>
        fromSec + ((place + lane + 0.5) / TIMBRE_PLACES) * (toSec - fromSec);
      this.#spectrum.transform(at(0), at(1), at(2), at(3));
      fourier.fillPower(0, fourier.bins);
      for (let k = 1; k <= TIMBRE_PARTIALS; k++) {
        const bin = Math.round(k * step);
        if (bin > fourier.bins - 2) break;
        for (let i = LANES * (bin - 1); i < LANES * (bin + 2); i++) sums[k - 1] += fourier.power[i];
      }
    }
    return Float32Array.from(sums, (sum) => powerToDb(sum / TIMBRE_PLACES + LEAST_POWER));
  }

  /** Seconds from the stretch before each tick to the one after it, as whole samples allow. */
  #stepsSec(fromTick: number, count: number): Float64Array {
    const rate = this.#sampleRate;
    const half = this.#spectrum.length / 2;
    const start = (tick: number): number => Math.round(tick * TICK_SEC * rate - half);
    return Float64Array.from(
      { length: count },
      (_, i) => (start(fromTick + Math.min(count - 1, i + 1)) - start(fromTick + Math.max(0, i - 1))) / rate,
    );
  }

  #partials(fromTick: number, midi: Float32Array, avoidMidi: number | undefined): Partials {
    const spectrum = this.#spectrum;
    const binHz = spectrum.binHz;
    const centreHz = midiToHz(median(midi));
    const highestHz = Math.min(HIGHEST_PARTIAL_HZ, this.#sampleRate / 2 - 3 * binHz);
    const count = Math.max(1, Math.min(MOST_PARTIALS, Math.floor(highestHz / centreHz)));
    const kept: number[] = [];
    for (let k = 1; k <= count; k++) {
      if (avoidMidi === undefined || !isShared(k * centreHz, midiToHz(avoidMidi), 1.2 * binHz)) kept.push(k);
    }
    if (kept.length === 0) for (let k = 1; k <= count; k++) kept.push(k);
    const track = (): Float32Array => new Float32Array(midi.length);
    const partials = kept.map((number) => ({ number, power: track(), re: track(), im: track() }));
    const { bins, power, powerAt } = spectrum.fourier;
    const perBin = 1 / binHz;
    const [cos, sin] = [this.#cos, this.#sin];
    for (let from = 0; from < midi.length; from += LANES) {
      const tick = fromTick + from;
      spectrum.transform(
        tick * TICK_SEC,
        (tick + 1) * TICK_SEC,
        (tick + 2) * TICK_SEC,
        (tick + 3) * TICK_SEC,
      );
      spectrum.fourier.writeComplex(this.#complexAt, powerAt);
      const lanes = Math.min(LANES, midi.length - from);
      for (let lane = 0; lane < lanes; lane++) {
        const step = midiToHz(midi[from + lane]) * perBin;
        for (const partial of partials) {
          const bin = Math.min(bins - 2, Math.max(1, Math.round(partial.number * step)));
          const at = LANES * bin + lane;
          const i = from + lane;
          partial.power[i] = power[at - LANES] + power[at] + power[at + LANES];
          const re = this.#complex[2 * LANES * bin + lane];
          const im = this.#complex[2 * LANES * bin + LANES + lane];
          partial.re[i] = re * cos[bin] - im * sin[bin];
          partial.im[i] = re * sin[bin] + im * cos[bin];
        }
      }
    }
    const measured = partials.map((partial) => ({
      ...partial,
      usual: quantile(partial.power, LOUD_QUANTILE),
    }));
    const strongest = Math.max(1e-14, ...measured.map(({ usual }) => usual));
    return { partials: measured.filter(({ usual }) => usual >= strongest * WEAKEST_PARTIAL), strongest };
  }
}

/** The mean of the partials' levels, in dB. */
function meanLevel({ partials, strongest }: Partials, count: number): Float32Array {
  // One logarithm of the product for those of all partials; by the strongest, the product stays above 1e-111.
  const product = new Float64Array(count).fill(1);
  for (const { power, usual } of partials) {
    const floor = Math.max(usual * OWN_FLOOR, strongest * STRONGEST_FLOOR);
    for (let i = 0; i < count; i++) product[i] *= (power[i] + floor) / strongest;
  }
  const used = partials.length;
  const strongestDb = powerToDb(strongest);
  return Float32Array.from(product, (value) => (used === 0 ? 0 : powerToDb(value) / used + strongestDb));
}

/**
 * How far the partials are from turning on as they did, against how far they usually are: the complex-domain
 * difference of Bello et al., "On the use of phase and energy for musical onset detection in the complex domain"
 * (IEEE Signal Processing Letters 11(6), 553-556, 2004), partial by partial. Where the level hides a new attack, as a
 * room's tail fills the gap, the phase still tells.
 * @param stepsSec time between the neighbours of each tick
 */
function meanChange({ partials }: Partials, midi: Float32Array, stepsSec: Float64Array): Float32Array {
  const count = midi.length;
  const step = new Float32Array(count);
  // How far the first partial turns between the neighbours, and the one at hand.
  const turn1 = Float64Array.from(midi, (value, i) => 2 * Math.PI * midiToHz(value) * stepsSec[i]);
  const cos1 = turn1.map(Math.cos);
  const sin1 = turn1.map(Math.sin);
  const cos = new Float64Array(count).fill(1);
  const sin = new Float64Array(count);
  let turned = 0;
  // One logarithm of the product for those of all partials.
  const product = new Float64Array(count).fill(1);
  for (const { number, re, im, usual } of partials) {
    for (; turned < number; turned++) {
      for (let i = 0; i < count; i++) {
        const turnedCos = cos[i] * cos1[i] - sin[i] * sin1[i];
        sin[i] = cos[i] * sin1[i] + sin[i] * cos1[i];
        cos[i] = turnedCos;
      }
    }
    for (let i = 0; i < count; i++) {
      const before = Math.max(0, i - 1);
      const after = Math.min(count - 1, i + 1);
      const stepRe = re[after] - (re[before] * cos[i] - im[before] * sin[i]);
      const stepIm = im[after] - (re[before] * sin[i] + im[before] * cos[i]);
      step[i] = stepRe * stepRe + stepIm * stepIm;
    }
    const least = median(step) + LEAST_STEP * usual;
    for (let i = 0; i < count; i++) product[i] *= Math.min(MOST_TIMES, step[i] / least + NO_CHANGE);
  }
  const used = partials.length;
  return Float32Array.from(product, (value) => (used === 0 ? 0 : Math.log(value) / used));
}

function isShared(partialHz: number, otherHz: number, withinHz: number): boolean {
  const nearest = Math.max(1, Math.round(partialHz / otherHz)) * otherHz;
  return Math.abs(partialHz - nearest) < withinHz;
}
