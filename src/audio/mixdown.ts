import { ReedtraceError } from '../errors.ts';
import { chooseMix } from './choose-mix.ts';
import { Decimator, decimationFactor } from './decimate.ts';
import { HighPass } from './high-pass.ts';
import { Inspector } from './inspector.ts';
import { Samples } from './samples.ts';

/** Samples held over all channels until it is decided how to mix them: 16 MB, 47 s of 44.1 kHz stereo. */
const HELD_SAMPLES = 4 * 1024 * 1024;
/** Every third frame is enough for energies and correlation, and takes a third of the time. */
const STATISTICS_STRIDE = 3;
/** Length of the change from one mix to another, in samples of the file. */
const CROSSFADE = 2048;
/** Fewer clipped places per second than this are not remarked on. [chosen by hand] */
const CLIPS_PER_SEC = 0.5;

/** Number of samples that the high-pass filter processes at once. */
const HIGH_PASS_BLOCK = 4096;

/** Channels in, one conditioned channel at the stored rate out. */
export class Mixdown {
  readonly samples: Samples;
  readonly channels: number;
  readonly sampleRate: number;
  #frames = 0;
  readonly #inspector: Inspector;
  readonly #planes: Float32Array[];
  #held = 0;
  readonly #sums: Float64Array;
  readonly #energies: Float64Array;
  #frontProduct = 0;
  #summed = 0;
  #weights: Float64Array | null = null;
  readonly #mixes = new Set<string>();
  readonly #decimator: Decimator;
  readonly #highPass: HighPass;

  /** @param frames expected length, to hold no more than is needed; Infinity if unknown */
  constructor(sampleRate: number, channels: number, frames: number) {
    this.sampleRate = sampleRate;
    this.channels = channels;
    const factor = decimationFactor(sampleRate);
    this.samples = new Samples(sampleRate / factor);
    this.#decimator = new Decimator(factor);
    this.#highPass = new HighPass(this.samples.sampleRate);
    // One channel needs no decision: hold just enough for efficient blocks.
    const most = channels === 1 ? 65_536 : Math.floor(HELD_SAMPLES / channels);
    const capacity = Math.max(1, Math.min(most, frames));
    this.#inspector = new Inspector(channels, capacity);
    this.#planes = this.#inspector.planes;
    this.#sums = new Float64Array(channels);
    this.#energies = new Float64Array(channels);
  }

  /** Frames of the file taken in so far. */
  get frames(): number {
    return this.#frames;
  }

  /** One array of samples for each channel, all of the same length. */
  push(planar: readonly Float32Array[]): void {
    const total = planar[0].length;
    let from = 0;
    while (from < total) {
      const count = Math.min(total - from, this.#planes[0].length - this.#held);
      for (let c = 0; c < this.channels; c++) {
        this.#planes[c].set(planar[c].subarray(from, from + count), this.#held);
        this.#inspector.inspect(c, this.#held, count);
      }
      this.#held += count;
      this.#frames += count;
      from += count;
      if (this.#held === this.#planes[0].length) this.#release();
    }
  }

  /** @throws ReedtraceError E_DAMAGED_AUDIO when most samples are not numbers */
  finish(file: string): string[] {
    const { notNumbers } = this.#inspector;
    if (notNumbers > (this.#frames * this.channels) / 2) {
      throw new ReedtraceError(
        'E_DAMAGED_AUDIO',
        `'${file}' is damaged: ${notNumbers} of ${this.#frames * this.channels} samples are not numbers`,
        'export the recording again, as 16-bit WAV',
      );
    }
    this.#release();
    this.#append(this.#decimator.flush());
    return this.#remarks();
  }

  #release(): void {
    const count = this.#held;
    if (count === 0) return;
    this.#held = 0;
    const mono = this.#planes[0].subarray(0, count);
    if (this.channels > 1) this.#mix(mono);
    this.#append(this.#decimator.push(mono));
  }

  /** Mixes the held stretch into its first channel, by the statistics of everything so far. */
  #mix(mono: Float32Array): void {
    const count = mono.length;
    this.#gather(count);
    const { weights, remark } = chooseMix(this.#covariance());
    this.#mixes.add(remark);
    const before = this.#weights ?? weights;
    this.#weights = weights;
    const ramp = before.every((w, c) => w === weights[c]) ? 0 : Math.min(CROSSFADE, count);
    for (let i = 0; i < ramp; i++) {
      const share = i / ramp;
      let sum = 0;
      for (let c = 0; c < this.channels; c++) {
        sum += (before[c] * (1 - share) + weights[c] * share) * this.#planes[c][i];
      }
      mono[i] = sum;
    }
    // No mix takes more than two channels.
    const first = weights.findIndex((w) => w !== 0);
    const second = weights.findLastIndex((w) => w !== 0);
    const a = this.#planes[first];
    const b = this.#planes[second];
    const wa = weights[first];
    if (first === second) {
      for (let i = ramp; i < count; i++) mono[i] = wa * a[i];
    } else {
      const wb = weights[second];
      for (let i = ramp; i < count; i++) mono[i] = wa * a[i] + wb * b[i];
    }
  }

  /** Sums for the covariance: energies, and the product of the front pair; nothing else is needed. */
  #gather(count: number): void {
    for (let c = 0; c < this.channels; c++) {
      const plane = this.#planes[c];
      let sum = 0;
      let energy = 0;
      for (let i = 0; i < count; i += STATISTICS_STRIDE) {
        const x = plane[i];
        sum += x;
        energy += x * x;
      }
      this.#sums[c] += sum;
      this.#energies[c] += energy;
    }
    const left = this.#planes[0];
    const right = this.#planes[1];
    let product = 0;
    for (let i = 0; i < count; i += STATISTICS_STRIDE) product += left[i] * right[i];
    this.#frontProduct += product;
    this.#summed += Math.ceil(count / STATISTICS_STRIDE);
  }

  #covariance(): { energies: Float64Array; front: number } {
    const n = this.#summed;
    const energies = new Float64Array(this.channels);
    for (let c = 0; c < this.channels; c++) {
      energies[c] = Math.max(0, this.#energies[c] - this.#sums[c] ** 2 / n);
    }
    return { energies, front: this.#frontProduct - (this.#sums[0] * this.#sums[1]) / n };
  }

  #append(data: Float32Array): void {
    for (let at = 0; at < data.length; at += HIGH_PASS_BLOCK) {
      this.#highPass.apply(data.subarray(at, at + HIGH_PASS_BLOCK));
    }
    this.samples.append(data);
  }

  #remarks(): string[] {
    const remarks: string[] = [];
    const mixes = [...this.#mixes].filter((mix) => mix !== '');
    if (mixes.length === 1 && this.#mixes.size === 1) remarks.push(mixes[0]);
    else if (mixes.length > 0)
      remarks.push(`the channels change partway through: in places, ${mixes.join('; ')}`);
    const { notNumbers, clips } = this.#inspector;
    if (notNumbers > 0) {
      const samples = notNumbers === 1 ? 'sample is not a number' : 'samples are not numbers';
      remarks.push(`${notNumbers} ${samples}: read as silence`);
    }
    const seconds = this.#frames / this.sampleRate;
    if (clips > Math.max(1, seconds * CLIPS_PER_SEC)) {
      remarks.push(
        `the recording is clipped in ${clips} places: record at a lower level for cleaner results`,
      );
    }
    return remarks;
  }
}
