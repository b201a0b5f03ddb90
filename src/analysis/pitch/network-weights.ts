import { readFitted } from '../../fitted.ts';
import type { Kernel } from '../../kernel.ts';

/** Heads are computed two at a time: sounding, onset, shake, and one that is not used. */
export const HEADS = 4;

/** Weights of a layer, by output, then input. */
interface Layer {
  readonly weights: readonly number[];
  readonly bias: readonly number[];
}

/** Weights as `pitch-network.json` holds them. */
export interface Weights {
  readonly channels: number;
  readonly inputs: number;
  readonly first: Layer;
  readonly blocks: readonly (Layer & { readonly dilation: number; readonly depthwise: readonly number[] })[];
  readonly heads: Layer;
  /** The second look at a pitch: channels, and how far away, in semitones, the pitches lie of which it is told. */
  readonly second: Layer & { readonly channels: number; readonly beside: readonly number[] };
  readonly secondHeads: Layer;
}

/** Byte offsets of a layer's weights in the kernel's memory. */
interface LayerAt {
  readonly weights: number;
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

/** Puts the weights into the kernel's memory. */
export function keepLayers(kernel: Kernel, weights: Weights): LayersAt {
  const keep = (layer: Layer): LayerAt => ({
    weights: kernel.keep(layer.weights),
    bias: kernel.keep(layer.bias),
  });
  const padded = (values: readonly number[], length: number): number[] =>
    Array.from({ length }, (_, i) => values[i] ?? 0);
  const keepHeads = (heads: Layer, channels: number): LayerAt =>
    keep({ weights: padded(heads.weights, HEADS * channels), bias: padded(heads.bias, HEADS) });
  return {
    first: keep(weights.first),
    blocks: weights.blocks.map((block) => ({
      ...keep(block),
      dilation: block.dilation,
      depthwise: kernel.keep(block.depthwise),
    })),
    heads: keepHeads(weights.heads, weights.channels),
    second: keep(weights.second),
    secondHeads: keepHeads(weights.secondHeads, weights.second.channels),
  };
}

/** Numbers that the kernel's memory has to hold for the weights. */
export function countWeights({ first, blocks, heads, second, secondHeads }: Weights): number {
  const count = ({ weights, bias }: Layer): number => weights.length + bias.length;
  const layers = [first, ...blocks, heads, second, secondHeads].reduce((sum, layer) => sum + count(layer), 0);
  return 2 * layers + blocks.reduce((sum, { depthwise }) => sum + depthwise.length, 0);
}

let kept: Weights | undefined;

/** The weights as the package brings them. */
export function readWeights(): Weights {
  kept ??= readFitted<Weights>('./pitch-network.json', import.meta.url);
  return kept;
}

/** Taps of a filter along time on each side of its middle. */
const TAPS_BESIDE = 4;
/** A layer is worked on for twice so many frames at once. */
const AT_ONCE = 8;

/** How far beyond a stretch what each block gives is needed by those after it, in frames, a multiple of AT_ONCE. */
export function halosAfter(blocks: Weights['blocks']): number[] {
  return blocks.map((_, i) => {
    const reach = blocks.slice(i + 1).reduce((sum, { dilation }) => sum + TAPS_BESIDE * dilation, 0);
    return AT_ONCE * Math.ceil(reach / AT_ONCE);
  });
}
