import type { Samples } from '../audio/samples.ts';
import type { Kernel } from '../kernel.ts';

/** Stretches that are measured at once, each in a lane of its own. */
export const LANES = 4;
/** What reading may write beyond the end. */
const READ_MARGIN = 8;

/**
 * Spectra of four Hann-windowed stretches at a time. What a measurement left is valid until the next one; values of
 * bin `k` stand at `4k …`, one for each stretch.
 */
export class SpectrumQuad {
  /** Bin spacing in Hz. */
  readonly binHz: number;
  /** Samples that the window spans. */
  readonly length: number;
  /** Number of bins, the first of which (0 Hz) is never filled. */
  readonly bins: number;
  /** Byte offset of the powers in the kernel's memory. */
  readonly powerAt: number;
  /** Powers: a full-scale sine reads 1 at its peak. */
  readonly power: Float32Array;
  readonly #kernel: Kernel;
  readonly #samples: Samples;
  readonly #reach: number;
  readonly #signalAt: number;
  readonly #windowAt: number;
  readonly #orderAt: number;
  readonly #twiddlesAt: number;
  readonly #turnsAt: number;
  readonly #dataAt: number;

  /** @param windowSec length of the Hann window; the transform is the next power of two. */
  constructor(kernel: Kernel, samples: Samples, windowSec: number) {
    const length = 2 * Math.round((windowSec * samples.sampleRate) / 2);
    const points = 2 ** Math.ceil(Math.log2(length)) / 2;
    this.#kernel = kernel;
    this.#samples = samples;
    this.length = length;
    // The kernel takes four samples at a time; those beyond the window are multiplied by 0.
    this.#reach = 4 * Math.ceil(length / 4);
    const window = new Float64Array(this.#reach);
    for (let i = 0; i < length; i++) {
      window[i] = (2 / length) * (1 - Math.cos((2 * Math.PI * (i + 0.5)) / length));
    }
    this.binHz = samples.sampleRate / (2 * points);
    this.bins = points;
    this.#signalAt = kernel.reserve(LANES * this.#reach + READ_MARGIN);
    this.#windowAt = kernel.keep(window);
    this.#orderAt = kernel.reserve(points);
    for (let i = 0; i < points; i++) {
      kernel.words[this.#orderAt / 4 + i] = 4 * 2 * LANES * placeOf(i, points);
    }
    this.#twiddlesAt = kernel.keep(twiddles(points));
    const turns = new Float64Array(2 * points);
    for (let k = 0; k < points; k++) {
      turns[2 * k] = Math.cos((Math.PI * k) / points);
      turns[2 * k + 1] = Math.sin((Math.PI * k) / points);
    }
    this.#turnsAt = kernel.keep(turns);
    this.#dataAt = kernel.reserve(2 * LANES * points);
    this.powerAt = kernel.reserve(LANES * points);
    this.power = kernel.floats.subarray(this.powerAt / 4, this.powerAt / 4 + LANES * points);
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
    const { code } = this.#kernel;
    const reach = this.#reach;
    const signal = this.#signalAt;
    const first = Math.min(a, b, c, d);
    const span = Math.max(a, b, c, d) - first + reach;
    let near = first;
    let [atB, atC, atD] = [4 * (b - first), 4 * (c - first), 4 * (d - first)];
    if (span <= LANES * reach) {
      this.#samples.readTo(first, span, this.#kernel, signal);
    } else {
      near = a;
      [atB, atC, atD] = [4 * reach, 8 * reach, 12 * reach];
      this.#read(a, 0);
      this.#read(b, 1);
      this.#read(c, 2);
      this.#read(d, 3);
    }
    code.cut(
      signal,
      4 * (a - near),
      atB,
      atC,
      atD,
      reach,
      this.#windowAt,
      this.#orderAt,
      this.bins,
      this.#dataAt,
    );
    code.transform(this.#dataAt, this.bins, this.#twiddlesAt);
  }

  /** Fills the powers of bins [from, to) of what was transformed. */
  fillPower(from: number, to: number): void {
    const { code } = this.#kernel;
    code.power(
      this.#dataAt,
      this.bins,
      this.#turnsAt,
      Math.max(1, from),
      Math.min(to, this.bins),
      this.powerAt,
    );
  }

  /**
   * Writes what was transformed to byte offsets: of bin `k` at `8k …` four real, then four imaginary parts, and at
   * `4k …` of the other the powers.
   */
  writeComplex(complexAt: number, powerAt: number): void {
    this.#kernel.code.unpack(this.#dataAt, this.bins, this.#turnsAt, complexAt, powerAt);
  }

  #read(from: number, lane: number): void {
    this.#samples.readTo(from, this.#reach, this.#kernel, this.#signalAt + 4 * lane * this.#reach);
  }
}

/** Where a transform by decimation in time wants point `i`: radix 4 down to a rest of 2 or 1. */
function placeOf(i: number, points: number): number {
  if (points <= 2) return i;
  return (i % 4) * (points / 4) + placeOf(Math.floor(i / 4), points / 4);
}

function twiddles(points: number): number[] {
  const factors: number[] = [];
  for (let block = 4 ** (Math.log2(points) % 2 === 0 ? 2 : 1.5); block <= points; block *= 4) {
    for (let k = 0; k < block / 4; k++) {
      for (const turns of [1, 2, 3]) {
        const angle = (-2 * Math.PI * k * turns) / block;
        factors.push(Math.cos(angle), Math.sin(angle));
      }
    }
  }
  return factors;
}
