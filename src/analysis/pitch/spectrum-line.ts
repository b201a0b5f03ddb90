import type { Samples } from '../../audio/samples.ts';
import { Kernel } from '../../kernel.ts';
import { LANES } from './quad-transform.ts';
import { SpectrumQuad } from './spectrum.ts';

/** A time that falls half-way between two samples is always rounded the same way, despite floating-point error. */
const TIE_SAMPLES = 1e-3;
/** Memory for tables and spectra, twice what they need at most. */
const KERNEL_BYTES_PER_HZ = 16;

/** One stretch's spectrum; bin `k` is at `LANES * k + lane` of `power` and at `2 * LANES * k + lane` of `complex`. */
export interface LineSpectrum {
  readonly lane: number;
  readonly bins: number;
  /** A full-scale sine reads 1 at its peak. */
  readonly power: Float32Array;
  /** Real parts, with the imaginary ones `LANES` further on. */
  readonly complex: Float32Array;
  /** First sample of the stretch. */
  readonly start: number;
  /** Power from the second bin up to the frequency given to the constructor. */
  readonly total: number;
}

/** Spectra are filled in up to a multiple of so many bins, so that those of a note that rises need not be computed again. */
const END_STEP = 64;

/** Four spectra that are computed together. */
interface Bank {
  /** Bins from here on are not filled in. */
  end: number;
  readonly complexAt: number;
  readonly powerAt: number;
  readonly slots: { -readonly [K in keyof LineSpectrum]: LineSpectrum[K] }[];
}

/**
 * Spectra of stretches in equal steps. Four are computed ahead and kept, so that each is computed only once although it is
 * needed twice: at the end of one step and at the beginning of the next.
 */
export class SpectrumLine {
  readonly binHz: number;
  readonly #kernel: Kernel;
  readonly #spectrum: SpectrumQuad;
  readonly #sampleRate: number;
  readonly #half: number;
  readonly #stepSec: number;
  readonly #top: number;
  readonly #banks: readonly Bank[];
  readonly #totalsAt: number;
  readonly #bins: number;
  #filled = 0;

  /**
   * @param windowSec  length of the Hann window
   * @param stepSec  distance from one stretch to the next
   * @param totalToHz  upper limit of `total`
   */
  constructor(samples: Samples, windowSec: number, stepSec: number, totalToHz: number) {
    this.#kernel = new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate);
    this.#spectrum = new SpectrumQuad(this.#kernel, samples, windowSec);
    const { binHz, length } = this.#spectrum;
    const { bins } = this.#spectrum.fourier;
    this.binHz = binHz;
    this.#sampleRate = samples.sampleRate;
    this.#half = length / 2;
    this.#stepSec = stepSec;
    this.#bins = bins;
    this.#top = Math.min(bins, Math.floor(totalToHz / binHz));
    this.#totalsAt = this.#kernel.reserve(LANES);
    this.#banks = [this.#newBank(bins), this.#newBank(bins)];
  }

  /**
   * The spectrum of the stretch centred on a time. The last two returned remain valid.
   * @param before  the one returned last, if it is still needed
   * @param toHz  frequency up to which it is needed, besides the upper limit of `total`; the bins above may not be filled in
   */
  at(sec: number, before?: LineSpectrum, toHz = Number.POSITIVE_INFINITY): LineSpectrum {
    const start = this.#startAt(sec);
    const end = Math.min(this.#bins, Math.max(this.#top, END_STEP * Math.ceil(toHz / this.binHz / END_STEP)));
    for (let b = 0; b < this.#banks.length; b++) {
      const bank = this.#banks[b];
      if (bank.end < end) continue;
      for (let s = 0; s < LANES; s++) if (bank.slots[s].start === start) return bank.slots[s];
    }
    const other = 1 - this.#filled;
    this.#filled =
      before !== undefined && before.power === this.#banks[other].slots[0].power ? 1 - other : other;
    const bank = this.#banks[this.#filled];
    bank.end = end;
    this.#fill(bank, sec);
    return bank.slots[0];
  }

  #startAt(sec: number): number {
    return Math.round(sec * this.#sampleRate - this.#half - TIE_SAMPLES);
  }

  #newBank(bins: number): Bank {
    const { floats } = this.#kernel;
    const complexAt = this.#kernel.reserve(2 * LANES * bins);
    const powerAt = this.#kernel.reserve(LANES * bins);
    const complex = floats.subarray(complexAt / 4, complexAt / 4 + 2 * LANES * bins);
    const power = floats.subarray(powerAt / 4, powerAt / 4 + LANES * bins);
    const slots = Array.from({ length: LANES }, (_, lane) => {
      return { lane, bins, power, complex, start: Number.NaN, total: 0 };
    });
    return { complexAt, powerAt, slots, end: 0 };
  }

  #fill({ complexAt, powerAt, slots, end }: Bank, sec: number): void {
    for (const slot of slots) slot.start = this.#startAt(sec + slot.lane * this.#stepSec);
    const [a, b, c, d] = slots;
    this.#spectrum.transformFrom(a.start, b.start, c.start, d.start);
    this.#spectrum.fourier.writeComplex(complexAt, powerAt, end);
    this.#kernel.code.sum(powerAt, 2, this.#top, this.#totalsAt);
    for (const slot of slots) slot.total = this.#kernel.floats[this.#totalsAt / 4 + slot.lane];
  }
}

/** How far the phase of the second stretch is ahead of the first's in a bin, in radians, (-π, π]. */
export function phaseAdvance(first: LineSpectrum, second: LineSpectrum, bin: number): number {
  const a = 2 * LANES * bin + first.lane;
  const b = 2 * LANES * bin + second.lane;
  const re = first.complex[a];
  const im = first.complex[a + LANES];
  const nextRe = second.complex[b];
  const nextIm = second.complex[b + LANES];
  return Math.atan2(nextIm * re - nextRe * im, nextRe * re + nextIm * im);
}
