import { concatenate } from './concatenate.ts';

/**
 * Rate reduction by halving. Ours rather than libsamplerate: that one runs at about 70 times real time, and the
 * whole product has to reach 100 times, so rate conversion may cost a small fraction of a per cent at most.
 */

/** Stored rates lie below this; halving from at or above it lands in [16 kHz, 32 kHz). Harmonica f0 ends at 3.4 kHz. */
const RATE_CEILING_HZ = 32_000;
/** Edges of the last stage as fractions of the output rate; symmetric about 1/2, as a half-band filter has to be. */
const PASS_EDGE = 0.42;
const STOP_EDGE = 0.58;
/** Design attenuation, 10 dB above what is promised, so that cascaded stages keep the promise of 80 dB. */
const STOP_BAND_DB = 90;

/** Factor (a power of two) that brings a file's rate into [16 kHz, 32 kHz); 1 for rates that are there or below. */
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

function withRoom(data: Float64Array<ArrayBuffer>, used: number, more: number): Float64Array<ArrayBuffer> {
  if (data.length >= used + more) return data;
  const grown = new Float64Array(used + more);
  grown.set(data.subarray(0, used));
  return grown;
}

/**
 * Halves the rate of a stream; output k is centred on input 2k, so there is no delay.
 * Inputs of even and odd number are kept apart: only the centre tap meets the even ones. In double precision, and
 * four outputs at a time, which runs three times as fast as the plain loop over single-precision samples.
 */
class HalfBand {
  readonly #taps: Float64Array;
  /** even[0] is the next centre; odd[taps.length - 1] is the input just before it. */
  #even = new Float64Array(0);
  #odd = new Float64Array(0);
  #evenCount = 0;
  #oddCount: number;
  #oddIsNext = false;
  #out = new Float32Array(0);

  constructor(transition: number) {
    this.#taps = halfBandTaps(transition);
    this.#odd = new Float64Array(this.#taps.length);
    this.#oddCount = this.#taps.length; // silence before the first input
  }

  push(input: Float32Array): Float32Array {
    this.#take(input);
    const taps = this.#taps;
    const pairs = taps.length;
    const even = this.#even;
    const odd = this.#odd;
    // Output k needs odd[k] … odd[k + 2 * pairs - 1], its centre lying between the two middle ones.
    const count = Math.max(0, Math.min(this.#evenCount, this.#oddCount - 2 * pairs + 1));
    if (this.#out.length < count) this.#out = new Float32Array(count);
    const out = this.#out;
    let k = 0;
    for (; k + 4 <= count; k += 4) {
      let a = 0.5 * even[k];
      let b = 0.5 * even[k + 1];
      let c = 0.5 * even[k + 2];
      let d = 0.5 * even[k + 3];
      for (let j = 0, before = k + pairs - 1, after = k + pairs; j < pairs; j++, before--, after++) {
        const tap = taps[j];
        a += tap * (odd[before] + odd[after]);
        b += tap * (odd[before + 1] + odd[after + 1]);
        c += tap * (odd[before + 2] + odd[after + 2]);
        d += tap * (odd[before + 3] + odd[after + 3]);
      }
      out[k] = a;
      out[k + 1] = b;
      out[k + 2] = c;
      out[k + 3] = d;
    }
    for (; k < count; k++) {
      let sum = 0.5 * even[k];
      for (let j = 0; j < pairs; j++) sum += taps[j] * (odd[k + pairs - 1 - j] + odd[k + pairs + j]);
      out[k] = sum;
    }
    even.copyWithin(0, count, this.#evenCount);
    odd.copyWithin(0, count, this.#oddCount);
    this.#evenCount -= count;
    this.#oddCount -= count;
    return out.subarray(0, count);
  }

  #take(input: Float32Array): void {
    const half = Math.ceil(input.length / 2);
    this.#even = withRoom(this.#even, this.#evenCount, half);
    this.#odd = withRoom(this.#odd, this.#oddCount, half);
    const even = this.#even;
    const odd = this.#odd;
    let e = this.#evenCount;
    let o = this.#oddCount;
    let i = 0;
    if (this.#oddIsNext && input.length > 0) {
      odd[o++] = input[i++];
      this.#oddIsNext = false;
    }
    for (; i + 2 <= input.length; i += 2) {
      even[e++] = input[i];
      odd[o++] = input[i + 1];
    }
    if (i < input.length) {
      even[e++] = input[i];
      this.#oddIsNext = true;
    }
    this.#evenCount = e;
    this.#oddCount = o;
  }

  /** The outputs whose windows reach past the last input, which reads as zero from there on. */
  flush(): Float32Array {
    const left = this.#evenCount;
    return this.push(new Float32Array(2 * this.#taps.length + 1)).subarray(0, left);
  }
}

/**
 * Linear-phase low-pass and rate reduction by a power of two, streaming.
 *
 * Flat (within 0.001 dB a stage) up to 0.42 of the output rate; at least 80 dB down from 0.58 on, so that what
 * folds back lands above the pass band only. Zero net delay: output k is centred on input k * factor, and
 * n inputs give ceil(n / factor) outputs. The array returned by `push` and `flush` is overwritten by the next call.
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
      // Stages before the last only have to protect the last one's band, so theirs are short filters.
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
