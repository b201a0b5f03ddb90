import FFT from 'fft.js';
import type { Samples } from '../audio/samples.ts';

/**
 * Magnitude spectra of Hann-windowed stretches, two at a time: a complex transform carries one real stretch in
 * its real and one in its imaginary part, which halves the work (Press et al., Numerical Recipes, 12.3).
 */
export class SpectrumPair {
  /** Bin spacing in Hz. */
  readonly binHz: number;
  /** Magnitudes of the first and the second stretch, `size / 2` bins; a full-scale sine reads 1 at its peak. */
  readonly first: Float64Array;
  readonly second: Float64Array;
  readonly #samples: Samples;
  readonly #window: Float64Array;
  readonly #fft: FFT;
  readonly #input: number[];
  readonly #output: number[];
  readonly #stretch: Float64Array;

  /** @param windowSec length of the Hann window; the transform is the next power of two. */
  constructor(samples: Samples, windowSec: number) {
    const length = 2 * Math.round((windowSec * samples.sampleRate) / 2);
    const size = 2 ** Math.ceil(Math.log2(length));
    this.#samples = samples;
    this.#window = new Float64Array(length);
    for (let i = 0; i < length; i++) {
      this.#window[i] = (2 / length) * (1 - Math.cos((2 * Math.PI * (i + 0.5)) / length));
    }
    this.#stretch = new Float64Array(length);
    this.#fft = new FFT(size);
    this.#input = this.#fft.createComplexArray();
    this.#output = this.#fft.createComplexArray();
    this.#input.fill(0);
    this.binHz = samples.sampleRate / size;
    this.first = new Float64Array(size / 2);
    this.second = new Float64Array(size / 2);
  }

  /** Measures the stretches centred on two times. */
  measure(firstSec: number, secondSec: number): void {
    this.#load(firstSec, 0);
    this.#load(secondSec, 1);
    const output = this.#output;
    this.#fft.transform(output, this.#input);
    const size = output.length / 2;
    const { first, second } = this;
    for (let k = 1; k < size / 2; k++) {
      const re = output[2 * k];
      const im = output[2 * k + 1];
      const mirrorRe = output[2 * (size - k)];
      const mirrorIm = output[2 * (size - k) + 1];
      const evenRe = re + mirrorRe;
      const evenIm = im - mirrorIm;
      const oddRe = re - mirrorRe;
      const oddIm = im + mirrorIm;
      first[k] = 0.5 * Math.sqrt(evenRe * evenRe + evenIm * evenIm);
      second[k] = 0.5 * Math.sqrt(oddRe * oddRe + oddIm * oddIm);
    }
  }

  /** Phase of the second stretch against the first at a bin, in radians, (-π, π]. */
  phaseAdvance(bin: number): number {
    const output = this.#output;
    const size = output.length / 2;
    const evenRe = output[2 * bin] + output[2 * (size - bin)];
    const evenIm = output[2 * bin + 1] - output[2 * (size - bin) + 1];
    const oddRe = output[2 * bin + 1] + output[2 * (size - bin) + 1];
    const oddIm = output[2 * (size - bin)] - output[2 * bin];
    return Math.atan2(oddIm * evenRe - oddRe * evenIm, oddRe * evenRe + oddIm * evenIm);
  }

  #load(centreSec: number, slot: 0 | 1): void {
    const window = this.#window;
    const stretch = this.#stretch;
    const start = Math.round(centreSec * this.#samples.sampleRate - window.length / 2);
    this.#samples.read(start, stretch);
    const input = this.#input;
    for (let i = 0; i < window.length; i++) input[2 * i + slot] = stretch[i] * window[i];
  }
}
