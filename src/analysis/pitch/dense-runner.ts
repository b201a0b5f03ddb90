import type { Kernel } from '../../kernel.ts';
import type { LayerAt } from './network-weights.ts';

/** What a layer does with its outputs, beside putting them down as floats with negative values cut off. */
interface Outputs {
  /** Byte offset of floats that they are added to; 0 for none. */
  readonly added?: number;
  /** Whether negative values are kept. */
  readonly linear?: boolean;
  /** Whether two channels share a row. */
  readonly packed?: boolean;
}

/** Runs layers that see one frame at a time, on rows of two channels each that are put in place before. */
export class DenseRunner {
  readonly #kernel: Kernel;
  readonly #rowBytes: number;
  readonly #inputsAt: number;

  /**
   * @param rowBytes from row to row
   * @param pairs of inputs at most
   */
  constructor(kernel: Kernel, rowBytes: number, pairs: number) {
    this.#kernel = kernel;
    this.#rowBytes = rowBytes;
    this.#inputsAt = kernel.reserve(pairs);
  }

  /** Puts the row at a byte offset in place for a pair of inputs. */
  put(pair: number, at: number): void {
    this.#kernel.words[this.#inputsAt / 4 + pair] = at;
  }

  /** Puts so many channels, whose rows stand one after the other, in place for the first inputs. @returns how many rows */
  putChannels(at: number, channels: number): number {
    for (let pair = 0; pair < channels / 2; pair++) this.put(pair, at + pair * this.#rowBytes);
    return channels / 2;
  }

  /**
   * Runs a layer on what is in place.
   * @param count frames, a multiple of 16
   * @param out byte offset of the first output's row
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
