import { Kernel } from '../kernel.ts';

/** Samples in one block of the store; each block has a scale of its own. */
const BLOCK = 4096;
/** Blocks for which memory is taken at once: 512 KB. */
const SHELF_BLOCKS = 64;
/** Stands in for every shelf of digital silence: hours of it take no memory. Never written to. */
const SILENT_SHELF = new Int16Array(new SharedArrayBuffer(2 * SHELF_BLOCKS * BLOCK));

/** Scratch memory for making blocks; nothing is kept between calls. */
const kernel = new Kernel(6 * BLOCK);
const pendingAt = kernel.reserve(BLOCK);
const blockAt = kernel.reserve(BLOCK / 2);

/** What another thread needs to read the same samples; the sound itself is shared, not copied. */
export interface SamplesHandle {
  readonly sampleRate: number;
  readonly shelves: readonly Int16Array[];
  readonly scales: readonly number[];
  /** Samples that do not fill a block. */
  readonly rest: Float32Array;
}

/**
 * One channel of sound at one rate, kept as 16-bit blocks with a scale each (block floating point), so that an
 * hour at 24 kHz takes 173 MB and quantisation stays 96 dB below the peak of each 0.2 s block.
 */
export class Samples {
  readonly sampleRate: number;
  /** Memory that threads can share, filled with blocks one after another. */
  #shelves: Int16Array[] = [];
  /** Scale of each block. */
  #scales: number[] = [];
  #pending = new Float32Array(BLOCK);
  #pendingCount = 0;

  constructor(sampleRate: number) {
    this.sampleRate = sampleRate;
  }

  static from(data: Float32Array, sampleRate: number): Samples {
    const samples = new Samples(sampleRate);
    samples.append(data);
    return samples;
  }

  /** The samples behind a handle, as they were when it was made; read-only. */
  static fromHandle({ sampleRate, shelves, scales, rest }: SamplesHandle): Samples {
    const samples = new Samples(sampleRate);
    samples.#shelves = [...shelves];
    samples.#scales = [...scales];
    samples.append(rest);
    return samples;
  }

  /** A handle from which `fromHandle` restores the samples, in this thread or another. */
  handle(): SamplesHandle {
    return {
      sampleRate: this.sampleRate,
      shelves: this.#shelves,
      scales: this.#scales,
      rest: this.#pending.slice(0, this.#pendingCount),
    };
  }

  /** Number of samples held. */
  get length(): number {
    return this.#scales.length * BLOCK + this.#pendingCount;
  }

  get durationSec(): number {
    return this.length / this.sampleRate;
  }

  /** Adds samples (full scale ±1; finite) at the end. */
  append(data: Float32Array): void {
    let read = 0;
    while (read < data.length) {
      const take = Math.min(BLOCK - this.#pendingCount, data.length - read);
      this.#pending.set(data.subarray(read, read + take), this.#pendingCount);
      this.#pendingCount += take;
      read += take;
      if (this.#pendingCount === BLOCK) this.#seal();
    }
  }

  #seal(): void {
    const { code, floats, shorts } = kernel;
    floats.set(this.#pending, pendingAt / 4);
    const peak = code.peak(pendingAt, BLOCK);
    const scale = peak > 0 ? peak / 32767 : 1;
    const place = this.#scales.length % SHELF_BLOCKS;
    if (place === 0) this.#shelves.push(SILENT_SHELF);
    if (peak > 0) {
      code.quantise(pendingAt, BLOCK, 1 / scale, blockAt);
      this.#lastShelf().set(shorts.subarray(blockAt / 2, blockAt / 2 + BLOCK), place * BLOCK);
    }
    this.#scales.push(scale);
    this.#pendingCount = 0;
  }

  /** The shelf that is being filled; it always has memory of its own. */
  #lastShelf(): Int16Array {
    const last = this.#shelves.length - 1;
    if (this.#shelves[last] === SILENT_SHELF) {
      this.#shelves[last] = new Int16Array(new SharedArrayBuffer(2 * SHELF_BLOCKS * BLOCK));
    }
    return this.#shelves[last];
  }

  /** The shelf that holds a block, and where the block begins in it. */
  #find(block: number): [shelf: Int16Array, at: number] {
    return [this.#shelves[Math.floor(block / SHELF_BLOCKS)], (block % SHELF_BLOCKS) * BLOCK];
  }

  /** Fills `out` with the samples from `start` on; what lies before the first or after the last reads as 0. */
  read(start: number, out: Float32Array | Float64Array): void {
    const sealed = this.#scales.length * BLOCK;
    let i = 0;
    while (i < out.length) {
      const at = start + i;
      if (at < 0) {
        const zeros = Math.min(-at, out.length - i);
        out.fill(0, i, i + zeros);
        i += zeros;
      } else if (at < sealed) {
        const number = Math.floor(at / BLOCK);
        const [shelf, from] = this.#find(number);
        const scale = this.#scales[number];
        const offset = at % BLOCK;
        const many = Math.min(BLOCK - offset, out.length - i);
        for (let k = 0; k < many; k++) out[i + k] = shelf[from + offset + k] * scale;
        i += many;
      } else {
        const offset = at - sealed;
        const available = Math.min(this.#pendingCount - offset, out.length - i);
        if (available <= 0) {
          out.fill(0, i);
          return;
        }
        for (let k = 0; k < available; k++) out[i + k] = this.#pending[offset + k];
        i += available;
      }
    }
  }

  /** Mean of the squares of `count` samples from `start` on; what lies before the first or after the last counts as 0. */
  meanSquare(start: number, count: number): number {
    const sealed = this.#scales.length * BLOCK;
    let sum = 0;
    for (let at = Math.max(0, start); at < start + count; ) {
      const number = Math.floor(at / BLOCK);
      if (at >= sealed) {
        const to = Math.min(this.#pendingCount, start + count - sealed);
        for (let i = at - sealed; i < to; i++) sum += this.#pending[i] ** 2;
        break;
      }
      const [shelf, first] = this.#find(number);
      const from = first + (at % BLOCK);
      const to = Math.min(first + BLOCK, from + start + count - at);
      kernel.shorts.set(shelf.subarray(from, to), blockAt / 2);
      sum += kernel.code.sumOfSquares(blockAt, to - from) * this.#scales[number] ** 2;
      at += to - from;
    }
    return sum / count;
  }

  /**
   * The same as `read`, in single precision, into the memory of a kernel.
   * @param to byte offset in it, with room for seven more samples
   */
  readTo(start: number, count: number, target: Kernel, to: number): void {
    const sealed = this.#scales.length * BLOCK;
    const end = start + count;
    for (let at = start; at < end; ) {
      const byte = to + 4 * (at - start);
      let many: number;
      if (at >= 0 && at < sealed) {
        const number = Math.floor(at / BLOCK);
        const offset = at % BLOCK;
        many = Math.min(BLOCK - offset, end - at);
        const [shelf, from] = this.#find(number);
        target.widen(shelf.subarray(from + offset, from + offset + many), this.#scales[number], byte);
      } else {
        many = (at < 0 ? Math.min(0, end) : end) - at;
        this.read(at, target.floats.subarray(byte / 4, byte / 4 + many));
      }
      at += many;
    }
  }
}
