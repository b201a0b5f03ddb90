import { Kernel } from '../kernel.ts';

const FULL_SCALE = 32_768;
/** The kernel reads and writes up to this many numbers beyond the last. */
const MARGIN = 8;

/** Converts 16-bit samples of one or two channels, as in most recordings, in the kernel. */
export class ShortConverter {
  readonly #channels: number;
  #room = 0;
  #kernel = new Kernel(0);
  #shortsAt = 0;
  #floatsAt = 0;
  /** Where two channels are separated to. */
  #planesAt: number[] = [];

  /** @param channels 1 or 2 */
  constructor(channels: number) {
    this.#channels = channels;
  }

  /** @returns an array for each channel, full scale ±1, valid until the next call */
  convert(interleaved: Int16Array): Float32Array[] {
    const count = interleaved.length;
    if (count > this.#room) this.#makeRoom(count);
    const { code, floats, shorts } = this.#kernel;
    shorts.set(interleaved, this.#shortsAt / 2);
    code.widen(this.#shortsAt, count, 1 / FULL_SCALE, this.#floatsAt);
    if (this.#channels === 1) return [floats.subarray(this.#floatsAt / 4, this.#floatsAt / 4 + count)];
    const frames = count / 2;
    const [left, right] = this.#planesAt;
    code.part(this.#floatsAt, frames, left, right);
    return this.#planesAt.map((at) => floats.subarray(at / 4, at / 4 + frames));
  }

  #makeRoom(count: number): void {
    const kernel = new Kernel(2 * count + 4 * count * this.#channels + 4 * 8 * MARGIN);
    this.#kernel = kernel;
    this.#room = count;
    this.#shortsAt = kernel.reserve(count / 2 + MARGIN);
    this.#floatsAt = kernel.reserve(count + MARGIN);
    this.#planesAt = this.#channels === 1 ? [] : [0, 1].map(() => kernel.reserve(count / 2 + MARGIN));
  }
}
