import type { Samples } from '../../audio/samples.ts';
import type { Kernel } from '../../kernel.ts';
import { LANES, QuadTransform } from './quad-transform.ts';

/** Sequential reads fetch this many times the span of four stretches. */
const READ_AHEAD = 2;
/** How far reading may write beyond the end. */
const READ_MARGIN = 8;

/** Spectra of four Hann-windowed stretches of a recording at a time; a full-scale sine has power 1 at its peak. */
export class SpectrumQuad {
  /** The last transform. */
  readonly fourier: QuadTransform;
  /** Bin spacing in Hz. */
  readonly binHz: number;
  /** Length of the window in samples. */
  readonly length: number;
  readonly #kernel: Kernel;
  readonly #samples: Samples;
  readonly #reach: number;
  /** Capacity in samples. */
  readonly #room: number;
  readonly #signalAt: number;
  /** The samples held in memory: the first one, and how many. */
  #heldFrom = 0;
  #held = 0;
  readonly #windowAt: number;

  /** @param windowSec length of the Hann window; the transform is the next power of two. */
  constructor(kernel: Kernel, samples: Samples, windowSec: number) {
    const length = 2 * Math.round((windowSec * samples.sampleRate) / 2);
    const size = 2 ** Math.ceil(Math.log2(length));
    this.#kernel = kernel;
    this.#samples = samples;
    this.length = length;
    this.binHz = samples.sampleRate / size;
    // The kernel takes four samples at a time; any beyond the window are multiplied by 0.
    this.#reach = 4 * Math.ceil(length / 4);
    this.#room = READ_AHEAD * LANES * this.#reach;
    this.#signalAt = kernel.reserve(this.#room + READ_MARGIN);
    this.#windowAt = kernel.reserve(this.#reach);
    kernel.floats.set(hannWindow(length), this.#windowAt / 4);
    this.fourier = new QuadTransform(kernel, size);
  }

  /** Transforms the stretches centred on four times. */
  transform(a: number, b: number, c: number, d: number): void {
    const rate = this.#samples.sampleRate;
    const half = this.length / 2;
    this.transformFrom(
      Math.round(a * rate - half),
      Math.round(b * rate - half),
      Math.round(c * rate - half),
      Math.round(d * rate - half),
    );
  }

  /** Transforms the stretches that begin at four samples. */
  transformFrom(a: number, b: number, c: number, d: number): void {
    const reach = this.#reach;
    const first = Math.min(a, b, c, d);
    const span = Math.max(a, b, c, d) - first + reach;
    if (span <= LANES * reach) {
      // Overlapping stretches are read together.
      const at = this.#hold(first, span);
      this.#run(a - first + at, b - first + at, c - first + at, d - first + at);
    } else {
      this.#held = 0;
      this.#read(a, 0);
      this.#read(b, 1);
      this.#read(c, 2);
      this.#read(d, 3);
      this.#run(0, reach, 2 * reach, 3 * reach);
    }
  }

  /** Makes sure that a span of samples is held; a read that continues the last one also reads ahead. @returns where they begin */
  #hold(first: number, span: number): number {
    const end = this.#heldFrom + this.#held;
    if (first < this.#heldFrom || first + span > end) {
      const goesOn = first > this.#heldFrom && first < end;
      this.#heldFrom = first;
      this.#held = goesOn ? this.#room : span;
      this.#samples.readTo(first, this.#held, this.#kernel, this.#signalAt);
    }
    return first - this.#heldFrom;
  }

  #run(a: number, b: number, c: number, d: number): void {
    this.fourier.run(this.#signalAt, this.#windowAt, this.#reach, a, b, c, d);
  }

  #read(from: number, lane: number): void {
    this.#samples.readTo(from, this.#reach, this.#kernel, this.#signalAt + 4 * lane * this.#reach);
  }
}

/** Hann window that makes a sine of amplitude 1 read 1 at its peak. */
export function hannWindow(length: number): Float64Array {
  const window = new Float64Array(length);
  for (let i = 0; i < length; i++)
    window[i] = (2 / length) * (1 - Math.cos((2 * Math.PI * (i + 0.5)) / length));
  return window;
}
