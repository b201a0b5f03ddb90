/** Samples in one block of the store; each block has a scale of its own. */
const BLOCK = 4096;

/**
 * One channel of sound at one rate, kept as 16-bit blocks with a scale each (block floating point), so that an
 * hour at 24 kHz takes 173 MB and quantisation stays 96 dB below the peak of each 0.2 s block.
 */
export class Samples {
  readonly sampleRate: number;
  #blocks: Int16Array[] = [];
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

  /** Number of samples held. */
  get length(): number {
    return this.#blocks.length * BLOCK + this.#pendingCount;
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
    const pending = this.#pending;
    let peak = 0;
    for (let i = 0; i < BLOCK; i++) {
      const magnitude = Math.abs(pending[i]);
      if (magnitude > peak) peak = magnitude;
    }
    const scale = peak > 0 ? peak / 32767 : 1;
    const inverse = 1 / scale;
    const block = new Int16Array(BLOCK);
    for (let i = 0; i < BLOCK; i++) {
      // Stored integers are cut towards zero; a half away from zero first makes that rounding.
      const value = pending[i] * inverse;
      block[i] = value >= 0 ? value + 0.5 : value - 0.5;
    }
    this.#blocks.push(block);
    this.#scales.push(scale);
    this.#pendingCount = 0;
  }

  /** Fills `out` with the samples from `start` on; what lies before the first or after the last reads as 0. */
  read(start: number, out: Float32Array | Float64Array): void {
    const sealed = this.#blocks.length * BLOCK;
    let i = 0;
    while (i < out.length) {
      const at = start + i;
      if (at < 0) {
        const zeros = Math.min(-at, out.length - i);
        out.fill(0, i, i + zeros);
        i += zeros;
      } else if (at < sealed) {
        const block = this.#blocks[Math.floor(at / BLOCK)];
        const scale = this.#scales[Math.floor(at / BLOCK)];
        let offset = at % BLOCK;
        const end = Math.min(BLOCK, offset + out.length - i);
        while (offset < end) out[i++] = block[offset++] * scale;
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
}
