import { readFitted } from '../../fitted.ts';
import type { Kernel } from '../../kernel.ts';

/** Outputs are computed four at a time: sounding, onset, shake, and one that is unused. */
export const HEADS = 4;

/** Weights of a layer, by output, then input. */
export interface Layer {
  readonly weights: readonly number[];
  readonly bias: readonly number[];
}

/** Weights as they lie in `pitch-network.json`. */
export interface Weights {
  readonly channels: number;
  readonly inputs: number;
  readonly first: Layer;
  readonly blocks: readonly (Layer & { readonly dilation: number; readonly depthwise: readonly number[] })[];
  readonly heads: Layer;
  /** The second look at a pitch: its channels, and which other pitches it is given, as distances in semitones. */
  readonly second: Layer & { readonly channels: number; readonly beside: readonly number[] };
  readonly secondHeads: Layer;
}

/** A layer's weights in the kernel's memory: byte offsets, and numbers of inputs and outputs. */
export interface LayerAt {
  /** Number of pairs of inputs, as the kernel takes them. */
  readonly pairs: number;
  readonly outputs: number;
  readonly weights: number;
  readonly scales: number;
  readonly bias: number;
}

/** Byte offsets of all weights in the kernel's memory. */
export interface LayersAt {
  readonly first: LayerAt;
  readonly blocks: readonly (LayerAt & { readonly dilation: number; readonly depthwise: number })[];
  readonly heads: LayerAt;
  readonly second: LayerAt;
  readonly secondHeads: LayerAt;
}

/** Writes the weights into the kernel's memory. */
export function keepLayers(kernel: Kernel, weights: Weights): LayersAt {
  const keep = (layer: Layer, outputs = layer.bias.length): LayerAt =>
    keepLayer(kernel, layer, outputs, (input) => input);
  // The two spectra are interleaved, and so are level and growth.
  const places = weights.inputs / 2 - 1;
  const first = keepLayer(kernel, weights.first, weights.channels, (input) =>
    input < 2 * places ? (input % 2) * places + (input >> 1) : input,
  );
  return {
    first,
    blocks: weights.blocks.map((block) => ({
      ...keep(block),
      dilation: block.dilation,
      depthwise: kernel.keep(block.depthwise),
    })),
    heads: keep(weights.heads, HEADS),
    second: keep(weights.second),
    secondHeads: keep(weights.secondHeads, HEADS),
  };
}

/** Inputs of a layer are 16-bit integers in which this stands for one (see `src/kernel/network.ts`). */
export const ONE = 512;
const OUTPUTS_AT_ONCE = 4;
const LARGEST_WEIGHT = 32_767;
/** Limit on the sum of an output's weights in magnitude: with inputs up to 2^15 the result then fits in 31 bits. */
const LARGEST_SUM = 65_535;

/**
 * Writes a layer into the kernel's memory. Each output's weights are quantised as finely as 16-bit weights and 32-bit sums
 * allow.
 * @param outputs  a multiple of 4; those that the layer lacks are 0
 * @param inputAt  maps a position to an input of the layer; two positions make a pair
 * @throws RangeError for other numbers of outputs, or an odd number of inputs
 */
export function keepLayer(
  kernel: Kernel,
  { weights, bias }: Layer,
  outputs: number,
  inputAt: (place: number) => number,
): LayerAt {
  const inputs = weights.length / bias.length;
  if (inputs % 2 !== 0) throw new RangeError('inputs are worked on two at a time');
  if (outputs % OUTPUTS_AT_ONCE !== 0) throw new RangeError('outputs are worked on four at a time');
  const weightsAt = kernel.reserve((inputs * outputs) / 2);
  const places = Int32Array.from({ length: inputs }, (_, place) => inputAt(place));
  const scales = new Float64Array(outputs);
  for (let output = 0; output < bias.length; output++) {
    // Pair by pair, the weights of four outputs side by side.
    const beside = output % OUTPUTS_AT_ONCE;
    const at = weightsAt / 2 + (output - beside) * inputs + 2 * beside;
    scales[output] = quantise(kernel.shorts, at, weights, output * inputs, places);
  }
  return {
    pairs: inputs / 2,
    outputs,
    weights: weightsAt,
    scales: kernel.keep(scales),
    bias: kernel.keep(Float64Array.from({ length: outputs }, (_, output) => bias[output] ?? 0)),
  };
}

/** Writes the weights of one output as integers, leaving room between pairs for the other outputs. @returns what one stands for */
function quantise(
  shorts: Int16Array,
  to: number,
  weights: readonly number[],
  from: number,
  places: Int32Array,
): number {
  let sum = 0;
  let most = 0;
  for (let i = from; i < from + places.length; i++) {
    const size = Math.abs(weights[i]);
    sum += size;
    if (size > most) most = size;
  }
  // Rounding adds at most half a step per weight.
  const steps = Math.min(LARGEST_WEIGHT / most, (LARGEST_SUM - places.length / 2) / sum);
  for (let i = 0; i < places.length; i += 2) {
    const at = to + OUTPUTS_AT_ONCE * i;
    shorts[at] = Math.round(steps * weights[from + places[i]]);
    shorts[at + 1] = Math.round(steps * weights[from + places[i + 1]]);
  }
  return 1 / (steps * ONE);
}

/** How many numbers of the kernel's memory the weights take. */
export function countWeights({ first, blocks, heads, second, secondHeads }: Weights): number {
  const count = ({ weights, bias }: Layer): number => weights.length + bias.length;
  const layers = [first, ...blocks, heads, second, secondHeads].reduce((sum, layer) => sum + count(layer), 0);
  return 2 * layers + blocks.reduce((sum, { depthwise }) => sum + depthwise.length, 0);
}

let kept: Weights | undefined;

/** The weights as shipped. */
export function readWeights(): Weights {
  kept ??= readFitted<Weights>('./pitch-network.json', import.meta.url);
  return kept;
}

/** Taps of a filter along time on each side of its middle. */
const TAPS_BESIDE = 4;

/**
 * How far beyond a stretch the output of the first layer and that of each block is needed by later blocks, in frames. On both
 * sides together that is a multiple of 8, as the layers want it.
 */
export function halosAfter(blocks: Weights['blocks']): number[] {
  const halos = [0];
  for (const { dilation } of blocks.toReversed()) halos.unshift(halos[0] + TAPS_BESIDE * dilation);
  return halos;
}
