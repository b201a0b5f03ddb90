import { readFitted } from '../../fitted.ts';
import type { Kernel } from '../../kernel.ts';
import { DenseRunner } from './dense-runner.ts';
import { INPUT_PAIRS, INPUT_ROWS, SPECTRUM_ROWS } from './network-places.ts';
import { keepLayer, type Layer, type LayerAt } from './network-weights.ts';
import { BLOCK } from './where-to-look.ts';

/** Weights as they lie in `glance-network.json`. */
export interface GlanceWeights {
  readonly hidden: Layer;
  readonly answer: Layer;
}

/** Half blocks that are seen: the two of a block, the one before and the one after them. */
const HALVES = 4;
export const GLANCE_INPUTS = 2 * HALVES * INPUT_PAIRS;
/** Layers are computed for this many blocks at once, and four outputs. */
const BLOCKS_AT_ONCE = 8;
const OUTPUTS = 4;

/**
 * Tells in which blocks of frames a look at a pitch would find nothing, for a fortieth of the cost of the look: a small network
 * that sees the inputs of the pitch network, summed over half a block. It is fitted to what the pitch network hears
 * (`tests/bench/fit/fit-glance.ts`), and is to be fitted again whenever that changes.
 */
export class Glance {
  readonly #kernel: Kernel;
  readonly #blocks: number;
  readonly #rowBytes: number;
  /** For each row of the spectra one of the first halves of blocks, and one of the second halves. */
  readonly #halvesAt: number;
  readonly #hidden: LayerAt;
  readonly #answer: LayerAt;
  readonly #dense: DenseRunner;
  readonly #hiddenAt: number;
  readonly #answerAt: number;

  /** @param frames  from the start of the halo to its end, a multiple of BLOCK */
  constructor(kernel: Kernel, frames: number) {
    const { hidden, answer } = readGlance();
    this.#kernel = kernel;
    this.#blocks = frames / BLOCK;
    const row = rowNumbers(frames);
    this.#rowBytes = 4 * row;
    this.#halvesAt = kernel.reserve(2 * SPECTRUM_ROWS * row);
    this.#hidden = keepLayer(kernel, hidden, hidden.bias.length, (input) => input);
    this.#answer = keepLayer(kernel, answer, OUTPUTS, (input) => input);
    this.#dense = new DenseRunner(kernel, this.#rowBytes, HALVES * INPUT_PAIRS);
    this.#hiddenAt = kernel.reserve((hidden.bias.length / 2) * row);
    this.#answerAt = kernel.reserve(OUTPUTS * row);
  }

  /**
   * Takes the inputs of all pitches.
   * @param rowsAt  byte offset of the first row's first frame, at the start of the halo
   * @param stride  bytes from row to row
   */
  take(rowsAt: number, stride: number): void {
    const { code } = this.#kernel;
    code.gather(rowsAt, SPECTRUM_ROWS, stride, this.#blocks, this.#halvesAt, this.#rowBytes);
  }

  /** Calls `visit` with the first frame of each block in [from, to) in which a row seems to be empty; not for the first and the last block of all. */
  eachEmpty(row: number, from: number, to: number, visit: (frame: number) => void): void {
    const first = from / BLOCK;
    const count = (to - from) / BLOCK;
    for (let pair = 0; pair < INPUT_PAIRS; pair++) {
      const at = this.#halfAt(row, pair, first);
      const seconds = at + this.#rowBytes;
      this.#dense.put(HALVES * pair, seconds - 4);
      this.#dense.put(HALVES * pair + 1, at);
      this.#dense.put(HALVES * pair + 2, seconds);
      this.#dense.put(HALVES * pair + 3, at + 4);
    }
    const blocks = BLOCKS_AT_ONCE * Math.ceil(count / BLOCKS_AT_ONCE);
    this.#dense.run(this.#hidden, blocks, this.#hiddenAt, { packed: true });
    this.#dense.putChannels(this.#hiddenAt, this.#hidden.outputs);
    this.#dense.run(this.#answer, blocks, this.#answerAt, { linear: true });
    const { floats } = this.#kernel;
    for (let i = 0; i < count; i++) if (floats[this.#answerAt / 4 + i] < 0) visit(from + i * BLOCK);
  }

  /** What a glance at a row sees in the block that begins at a frame, by input, as 16-bit integers (see network.ts of the kernel). */
  inputs(row: number, frame: number): Int16Array {
    const { shorts } = this.#kernel;
    const seen = new Int16Array(GLANCE_INPUTS);
    for (let pair = 0; pair < INPUT_PAIRS; pair++) {
      const at = this.#halfAt(row, pair, frame / BLOCK);
      const seconds = at + this.#rowBytes;
      [seconds - 4, at, seconds, at + 4].forEach((half, i) => {
        seen.set(shorts.subarray(half / 2, half / 2 + 2), 2 * (HALVES * pair + i));
      });
    }
    return seen;
  }

  /** Byte offset of the first half of a block. */
  #halfAt(row: number, pair: number, block: number): number {
    return this.#halvesAt + 2 * INPUT_ROWS[row * INPUT_PAIRS + pair] * this.#rowBytes + 4 * block;
  }
}

/** Length of a row in which each block has a number, with room for blocks that are only computed because of those beside them. */
function rowNumbers(frames: number): number {
  return 4 * Math.ceil((frames / BLOCK + BLOCKS_AT_ONCE) / 4);
}

/** How many numbers of the kernel's memory a glance at this many frames takes. */
export function glanceNumbers(frames: number): number {
  const units = readGlance().hidden.bias.length;
  const rows = 2 * SPECTRUM_ROWS + units / 2 + OUTPUTS;
  return (
    rows * rowNumbers(frames) + units * (GLANCE_INPUTS / 2 + 2 + OUTPUTS / 2) + HALVES * INPUT_PAIRS + 64
  );
}

let kept: GlanceWeights | undefined;

function readGlance(): GlanceWeights {
  kept ??= readFitted<GlanceWeights>('./glance-network.json', import.meta.url);
  return kept;
}
