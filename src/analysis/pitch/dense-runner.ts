import type { Kernel } from '../../kernel.ts';
import type { LayerAt } from './network-weights.ts';

/** What happens to a layer's outputs; by default they are stored as floats with negative values set to 0. */
interface Outputs {
  /** Byte offset of floats to which they are added; 0 for none. */
  readonly added?: number;
  /** True to keep negative values. */
  readonly linear?: boolean;
  /** True to store two channels in one row. */
  readonly packed?: boolean;
}

/** Runs layers that see one frame at a time. Their inputs are rows of two channels each, which must be put in place first. */
export class DenseRunner {
  readonly #kernel: Kernel;
  readonly #rowBytes: number;
  readonly #inputsAt: number;

  /**
   * @param rowBytes  distance between rows
   * @param pairs  maximum number of pairs of inputs
   */
  constructor(kernel: Kernel, rowBytes: number, pairs: number) {
    this.#kernel = kernel;
    this.#rowBytes = rowBytes;
    this.#inputsAt = kernel.reserve(pairs);
  }

  /** Uses the row at a byte offset as a pair of inputs. */
  put(pair: number, at: number): void {
    this.#kernel.words[this.#inputsAt / 4 + pair] = at;
  }

  /** Uses this many channels, stored in consecutive rows, as the first inputs. @returns the number of rows */
  putChannels(at: number, channels: number): number {
    for (let pair = 0; pair < channels / 2; pair++) this.put(pair, at + pair * this.#rowBytes);
    return channels / 2;
  }

  /**
   * Runs a layer on the inputs in place.
   * @param count  frames, a multiple of 8
   * @param out  byte offset of the first output's row
   */
  run(layer: LayerAt, count: number, out: number, { added = 0, linear, packed }: Outputs = {}): void {
    this.#kernel.code.dense(
      this.#inputsAt,
      layer.pairs,
      layer.weights,
      layer.scales,
      layer.bias,
      layer.outputs,
      count,
      out,
      added,
      this.#rowBytes,
      linear ? 1 : 0,
      packed ? 1 : 0,
    );
  }
}
