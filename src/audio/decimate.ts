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

/** Halves the rate of a stream; output k is centred on input 2k, so there is no delay. */
class HalfBand {
  readonly #taps: Float64Array;
  /** Samples on each side of the centre that the filter reaches. */
  readonly #reach: number;
  /** What the next outputs still need, then the new input. */
  #work: Float32Array;
  #held: number;
  #out = new Float32Array(0);

  constructor(transition: number) {
    this.#taps = halfBandTaps(transition);
    this.#reach = 2 * this.#taps.length - 1;
    this.#held = this.#reach;
    this.#work = new Float32Array(this.#held);
  }

  push(input: Float32Array): Float32Array {
    const reach = this.#reach;
    const taps = this.#taps;
    const total = this.#held + input.length;
    if (this.#work.length < total) {
      const grown = new Float32Array(total);
      grown.set(this.#work.subarray(0, this.#held));
      this.#work = grown;
    }
    const work = this.#work;
    work.set(input, this.#held);
    const count = Math.max(0, Math.floor((total - 2 * reach - 1) / 2) + 1);
    if (this.#out.length < count) this.#out = new Float32Array(count);
    const out = this.#out;
    for (let k = 0, centre = reach; k < count; k++, centre += 2) {
      let sum = 0.5 * work[centre];
      for (
        let j = 0, before = centre - 1, after = centre + 1;
        j < taps.length;
        j++, before -= 2, after += 2
      ) {
        sum += taps[j] * (work[before] + work[after]);
      }
      out[k] = sum;
    }
    work.copyWithin(0, 2 * count, total);
    this.#held = total - 2 * count;
    return out.subarray(0, count);
  }

  /** The outputs whose windows reach past the last input, which reads as zero from there on. */
  flush(): Float32Array {
    return this.push(new Float32Array(this.#reach));
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
    const out = new Float32Array(parts.reduce((sum, part) => sum + part.length, 0));
    let at = 0;
    for (const part of parts) {
      out.set(part, at);
      at += part.length;
    }
    return out;
  }
}
