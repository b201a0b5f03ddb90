/** Corner of the one-pole high-pass that removes offset; 2.7 octaves below the lowest harmonica note (131 Hz). */
const HIGH_PASS_HZ = 20;

/** One-pole high-pass against offset and rumble: y[n] = x[n] - x[n-1] + r * y[n-1]. */
export class HighPass {
  readonly #pole: number;
  /** Last input and last output; typed, as plain number fields make the loop five times slower. */
  readonly #state = new Float64Array(2);
  #started = false;

  constructor(sampleRate: number) {
    this.#pole = Math.exp((-2 * Math.PI * HIGH_PASS_HZ) / sampleRate);
  }

  apply(data: Float32Array): void {
    if (!this.#started && data.length > 0) {
      // Start as if the first sample had always been there, so that an offset makes no step.
      this.#state[0] = data[0];
      this.#started = true;
    }
    const r = this.#pole;
    let lastIn = this.#state[0];
    let lastOut = this.#state[1];
    const even = data.length - (data.length % 2);
    // In pairs, so that the processor can begin one output before the last is done.
    for (let i = 0; i < even; i += 2) {
      const first = data[i] - lastIn;
      const second = data[i + 1] - data[i] + r * first;
      lastIn = data[i + 1];
      data[i] = first + r * lastOut;
      lastOut = second + r * r * lastOut;
      data[i + 1] = lastOut;
    }
    for (let i = even; i < data.length; i++) {
      lastOut = data[i] - lastIn + r * lastOut;
      lastIn = data[i];
      data[i] = lastOut;
    }
    this.#state[0] = lastIn;
    // Decaying into denormal numbers would make digital silence slow.
    this.#state[1] = Math.abs(lastOut) < 1e-20 ? 0 : lastOut;
  }
}
