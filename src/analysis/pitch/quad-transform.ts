import type { Kernel } from '../../kernel.ts';

/** Number of stretches that are transformed at once, each in its own lane. */
export const LANES = 4;

/**
 * The Fourier transform of four real stretches at a time. Results are valid until the next one; those of bin `k` begin at
 * `4k`, one for each stretch.
 */
export class QuadTransform {
  /** Number of bins, half the size of the transform; the first (0 Hz) is never filled. */
  readonly bins: number;
  /** Byte offset of the powers in the kernel's memory, and a view of them. */
  readonly powerAt: number;
  readonly power: Float32Array;
  readonly #kernel: Kernel;
  readonly #orderAt: number;
  readonly #twiddlesAt: number;
  readonly #turnsAt: number;
  readonly #dataAt: number;

  /** @param size power of two, 8 or more */
  constructor(kernel: Kernel, size: number) {
    const bins = size / 2;
    this.#kernel = kernel;
    this.bins = bins;
    const { order, twiddles, turns } = tablesOf(bins);
    this.#orderAt = kernel.keepWords(order);
    this.#twiddlesAt = kernel.keep(twiddles);
    this.#turnsAt = kernel.keep(turns);
    this.#dataAt = kernel.reserve(2 * LANES * bins);
    this.powerAt = kernel.reserve(LANES * bins);
    this.power = kernel.floats.subarray(this.powerAt / 4, this.powerAt / 4 + LANES * bins);
  }

  /**
   * Transforms four stretches of floats at `signalAt`, each multiplied by the window.
   * @param length  of the window, a multiple of 4; the rest of the transform's size is zero-padded
   * @param a,b,c,d  first sample of each stretch
   */
  run(signalAt: number, windowAt: number, length: number, a: number, b: number, c: number, d: number): void {
    const { code } = this.#kernel;
    const { bins } = this;
    code.transform(
      signalAt,
      4 * a,
      4 * b,
      4 * c,
      4 * d,
      length,
      windowAt,
      this.#orderAt,
      bins,
      this.#dataAt,
      this.#twiddlesAt,
    );
  }

  /** Fills in the powers of bins [from, to) of the last transform. */
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
   * Writes the last transform to byte offsets: for bin `k`, four real and then four imaginary parts at `8k` of the first, and
   * the powers at `4k` of the second.
   * @param to  the first bin that is not needed
   */
  writeComplex(complexAt: number, powerAt: number, to: number = this.bins): void {
    this.#kernel.code.unpack(this.#dataAt, this.bins, this.#turnsAt, to, complexAt, powerAt);
  }
}

/** The tables for a transform of a number of complex points, in the kernel's format. */
interface Tables {
  readonly order: Uint32Array;
  readonly twiddles: Float32Array;
  readonly turns: Float32Array;
}

/** Made once for each size. */
const tables = new Map<number, Tables>();

function tablesOf(points: number): Tables {
  const known = tables.get(points);
  if (known !== undefined) return known;
  const order = new Uint32Array(points);
  const turns = new Float32Array(2 * points);
  for (let i = 0; i < points; i++) {
    order[i] = 4 * 2 * LANES * placeOf(i, points);
    turns[2 * i] = Math.cos((Math.PI * i) / points);
    turns[2 * i + 1] = Math.sin((Math.PI * i) / points);
  }
  const made = { order, twiddles: Float32Array.from(twiddlesOf(points)), turns };
  tables.set(points, made);
  return made;
}

/** Where a transform by decimation in time wants point `i`: radix 4 down to a remainder of 2 or 1. */
function placeOf(i: number, points: number): number {
  if (points <= 2) return i;
  return (i % 4) * (points / 4) + placeOf(Math.floor(i / 4), points / 4);
}

function twiddlesOf(points: number): number[] {
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
