import { Kernel } from '../kernel.ts';

/** A sample beyond this (full scale is 1) is damage, not another scale. */
const LARGEST_SAMPLE = 2 ** 32;
/** At or above this magnitude a sample counts as full scale (8-bit files end at 127/128). */
const FULL_SCALE = 0.992;
/** Samples in a row at full scale that make one clipped place. */
const CLIP_RUN = 4;
/** The kernel processes eight samples at once. */
const MARGIN = 8;

/** Buffers for several channels, which are checked for clipped places and unusable numbers. */
export class Inspector {
  /** An array for each channel. */
  readonly planes: Float32Array[];
  /** Samples that were replaced by 0. */
  notNumbers = 0;
  clips = 0;
  readonly #kernel: Kernel;
  readonly #planesAt: number[];
  readonly #clipRun: Int32Array;

  /** @param capacity samples of each channel */
  constructor(channels: number, capacity: number) {
    const kernel = new Kernel(4 * channels * (capacity + 2 * MARGIN));
    this.#kernel = kernel;
    this.#planesAt = Array.from({ length: channels }, () => kernel.reserve(capacity + MARGIN));
    this.planes = this.#planesAt.map((at) => kernel.floats.subarray(at / 4, at / 4 + capacity));
    this.#clipRun = new Int32Array(channels);
  }

  /** Checks `count` new samples of a channel, in order; unusable numbers become 0. */
  inspect(channel: number, from: number, count: number): void {
    const data = this.planes[channel].subarray(from, from + count);
    const peak = this.#peak(channel, from, count);
    if (!(peak <= LARGEST_SAMPLE)) this.#silence(data);
    if (peak < FULL_SCALE) this.#clipRun[channel] = 0;
    else this.#countClips(channel, data);
  }

  /** Largest magnitude; NaN if any sample is NaN. */
  #peak(channel: number, from: number, count: number): number {
    const at = this.#planesAt[channel] + 4 * from;
    this.#kernel.floats.fill(0, at / 4 + count, at / 4 + count + MARGIN);
    return this.#kernel.code.peak(at, MARGIN * Math.ceil(count / MARGIN));
  }

  #silence(data: Float32Array): void {
    for (let i = 0; i < data.length; i++) {
      // Also true for NaN.
      if (!(Math.abs(data[i]) <= LARGEST_SAMPLE)) {
        data[i] = 0;
        this.notNumbers++;
      }
    }
  }

  #countClips(channel: number, data: Float32Array): void {
    let run = this.#clipRun[channel];
    for (let i = 0; i < data.length; i++) {
      run = Math.abs(data[i]) >= FULL_SCALE ? run + 1 : 0;
      if (run === CLIP_RUN) this.clips++;
    }
    this.#clipRun[channel] = run;
  }
}
