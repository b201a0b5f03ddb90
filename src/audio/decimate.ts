import { Kernel } from '../kernel.ts';
import { concatenate } from './concatenate.ts';

/**
 * Rate reduction by halving. Written here because libsamplerate runs at about 70 times real time, and the whole product
 * has to reach 100 times.
 */

/** Stored rates lie below this; halving from at or above it lands in [16 kHz, 32 kHz). Harmonica f0 ends at 3.4 kHz. */
const RATE_CEILING_HZ = 32_000;
/** Edges of the last stage as fractions of the output rate; symmetric about 1/2, as a half-band filter requires. */
const PASS_EDGE = 0.42;
const STOP_EDGE = 0.58;
/** Design attenuation, 10 dB more than promised, so that the cascaded stages reach the promised 80 dB. */
const STOP_BAND_DB = 90;

/** Factor (a power of two) that brings a file's rate into [16 kHz, 32 kHz); 1 for rates within or below that. */
export function decimationFactor(sampleRate: number): number {
  let factor = 1;
  while (sampleRate / factor >= RATE_CEILING_HZ) factor *= 2;
  return factor;
}

/** Zeroth-order modified Bessel function of the first kind, by its power series (Abramowitz & Stegun 9.6.12). */
function besselI0(x: number): number {
  const quarter = (x * x) / 4;
  let term = 1;
  let sum = 1;
  for (let k = 1; term > sum * 1e-17; k++) {
    term *= quarter / (k * k);
    sum += term;
  }
  return sum;
}

/**
 * One side of the odd taps h[1], h[3], h[5] … of a half-band low-pass; h[0] is 1/2 and the even taps are 0.
 * Kaiser window design (Kaiser, 1974; length and beta as in Oppenheim & Schafer, "Discrete-Time Signal
 * Processing", section 7.6).
 * @param transition width of the transition band in cycles per input sample, in (0, 0.5)
 */
function halfBandTaps(transition: number): Float64Array {
  const order = (STOP_BAND_DB - 7.95) / (14.36 * transition);
  const pairs = Math.max(1, Math.ceil((order + 2) / 4));
  const reach = 2 * pairs;
  const beta = 0.1102 * (STOP_BAND_DB - 8.7);
  const taps = new Float64Array(pairs);
  let sum = 0;
  for (let j = 0; j < pairs; j++) {
    const n = 2 * j + 1;
    const window = besselI0(beta * Math.sqrt(1 - (n / reach) ** 2)) / besselI0(beta);
    taps[j] = (Math.sin((Math.PI * n) / 2) / (Math.PI * n)) * window;
    sum += taps[j];
  }
  // Unity gain at 0 Hz: 1/2 + 2 * sum(taps) = 1.
  for (let j = 0; j < pairs; j++) taps[j] *= 0.25 / sum;
  return taps;
}

/** Number of inputs processed at once. */
const CHUNK = 8192;
/** The kernel reads and writes up to this many floats beyond the last. */
const MARGIN = 16;

/**
 * Halves the rate of a stream; output k is centred on input 2k, so there is no delay. Inputs with even and odd indices
 * are kept apart: only the centre tap uses the even ones.
 */
class HalfBand {
  readonly #kernel: Kernel;
  readonly #pairs: number;
  readonly #tapsAt: number;
  readonly #inputAt: number;
  /** Byte offset of the next centre, and of the first odd input that its output needs. */
  readonly #evenAt: number;
  readonly #oddAt: number;
  readonly #outAt: number;
  #evenCount = 0;
  #oddCount: number;
  #oddIsNext = false;
  #out = new Float32Array(0);

  constructor(transition: number) {
    const taps = halfBandTaps(transition);
    const pairs = taps.length;
    // Room for what waits for the other half of the filter, and for a chunk.
    const room = CHUNK / 2 + 2 * pairs + MARGIN;
    const kernel = new Kernel(4 * (pairs + CHUNK + 3 * room + 6 * MARGIN));
    this.#kernel = kernel;
    this.#pairs = pairs;
    this.#tapsAt = kernel.keep(taps);
    this.#inputAt = kernel.reserve(CHUNK + MARGIN);
    this.#evenAt = kernel.reserve(room);
    this.#oddAt = kernel.reserve(room);
    this.#outAt = kernel.reserve(room);
    this.#oddCount = pairs; // silence before the first input
  }

  push(input: Float32Array): Float32Array {
    const most = Math.ceil(input.length / 2) + 2 * this.#pairs;
    if (this.#out.length < most) this.#out = new Float32Array(most);
    let filled = 0;
    for (let from = 0; from < input.length; from += CHUNK) {
      filled += this.#pushChunk(input.subarray(from, from + CHUNK), filled);
    }
    return this.#out.subarray(0, filled);
  }

  #pushChunk(input: Float32Array, to: number): number {
    const { code, floats } = this.#kernel;
    const pairs = this.#pairs;
    this.#take(input);
    // Output k needs odd[k] … odd[k + 2 * pairs - 1], its centre lying between the two middle ones.
    const count = Math.max(0, Math.min(this.#evenCount, this.#oddCount - 2 * pairs + 1));
    code.halve(this.#evenAt, this.#oddAt, this.#tapsAt, pairs, count, this.#outAt);
    this.#out.set(floats.subarray(this.#outAt / 4, this.#outAt / 4 + count), to);
    const even = this.#evenAt / 4;
    const odd = this.#oddAt / 4;
    floats.copyWithin(even, even + count, even + this.#evenCount);
    floats.copyWithin(odd, odd + count, odd + this.#oddCount);
    this.#evenCount -= count;
    this.#oddCount -= count;
    return count;
  }

  #take(input: Float32Array): void {
    const { code, floats } = this.#kernel;
    const even = this.#evenAt / 4;
    const odd = this.#oddAt / 4;
    let from = 0;
    if (this.#oddIsNext) {
      floats[odd + this.#oddCount++] = input[from++];
      this.#oddIsNext = false;
    }
    floats.set(input, this.#inputAt / 4);
    const pairs = (input.length - from) >> 1;
    code.part(
      this.#inputAt + 4 * from,
      pairs,
      this.#evenAt + 4 * this.#evenCount,
      this.#oddAt + 4 * this.#oddCount,
    );
    this.#evenCount += pairs;
    this.#oddCount += pairs;
    if (from + 2 * pairs < input.length) {
      floats[even + this.#evenCount++] = input[input.length - 1];
      this.#oddIsNext = true;
    }
  }

  /** The outputs whose windows reach past the last input, which reads as zero from there on. */
  flush(): Float32Array {
    const left = this.#evenCount;
    return this.push(new Float32Array(2 * this.#pairs + 1)).subarray(0, left);
  }
}

/**
 * Linear-phase low-pass and rate reduction by a power of two, streaming.
 *
 * Flat (within 0.001 dB a stage) up to 0.42 of the output rate; at least 80 dB down from 0.58 on, so that aliases land
 * above the pass band only. Zero net delay: output k is centred on input k * factor, and n inputs give ceil(n / factor)
 * outputs. The array returned by `push` and `flush` is overwritten by the next call.
 */
export class Decimator {
  readonly factor: number;
  readonly #stages: HalfBand[] = [];

  /** @param factor power of two, 1 or more */
  constructor(factor: number) {
    if (factor < 1 || !Number.isInteger(Math.log2(factor))) {
      throw new RangeError(`decimation factor must be a power of two, got ${factor}`);
    }
    this.factor = factor;
    for (let left = factor; left > 1; left /= 2) {
      // Stages before the last only have to protect the last one's band, so their filters are short.
      const edge = left === 2 ? PASS_EDGE : STOP_EDGE;
      this.#stages.push(new HalfBand(0.5 - (2 * edge) / left));
    }
  }

  push(input: Float32Array): Float32Array {
    let data = input;
    for (const stage of this.#stages) data = stage.push(data);
    return data;
  }

  /** The rest, once, after the last `push`. */
  flush(): Float32Array {
    const parts: Float32Array[] = [];
    for (let i = 0; i < this.#stages.length; i++) {
      let data: Float32Array = this.#stages[i].flush();
      for (let k = i + 1; k < this.#stages.length; k++) data = this.#stages[k].push(data);
      parts.push(data.slice());
    }
    return concatenate(parts);
  }
}
