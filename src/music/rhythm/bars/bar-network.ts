import { readFitted } from '../../../fitted.ts';
import type { BarredPath } from './bar-lines.ts';
import { type BarNote, CONTEXT_INPUTS, noteContexts, PLACE_INPUTS, placeInputs } from './note-inputs.ts';
import { countOften, WAY_FEATURES } from './way-features.ts';

/** Weights as `bar-network.json` holds them; layers by unit, then input. */
interface BarNetwork {
  readonly units: number;
  /** Of what is heard around a note. */
  readonly context: readonly number[];
  /** Of where a way puts it. */
  readonly place: readonly number[];
  readonly bias: readonly number[];
  readonly output: readonly number[];
  /** The direct way from where it is put, beside the hidden layer. */
  readonly direct: readonly number[];
  /** Of the features of the whole way. */
  readonly way: Readonly<Record<(typeof WAY_FEATURES)[number], number>>;
  /** A hidden layer over these features: by unit, then feature in the order of `way`. */
  readonly wayHidden: readonly number[];
  readonly wayBias: readonly number[];
  readonly wayOutput: readonly number[];
}

/** The weights as they are used, `place` by input, then unit. */
interface Weights {
  readonly context: Float64Array;
  readonly place: Float64Array;
  readonly bias: Float64Array;
  readonly output: Float64Array;
  readonly direct: Float64Array;
  readonly way: Float64Array;
  /** By unit, then feature. */
  readonly wayHidden: Float64Array;
  readonly wayBias: Float64Array;
  readonly wayOutput: Float64Array;
}

let kept: Weights | undefined;

function readWeights(): Weights {
  const fitted = readFitted<BarNetwork>('./bar-network.json', import.meta.url);
  const { units, context, place, bias, output, direct, way, wayHidden, wayBias, wayOutput } = fitted;
  const names = Object.keys(way);
  const asFitted = WAY_FEATURES.map((name) => names.indexOf(name));
  return {
    context: Float64Array.from(context),
    place: Float64Array.from(place, (_, i) => place[(i % units) * PLACE_INPUTS + Math.floor(i / units)]),
    bias: Float64Array.from(bias),
    output: Float64Array.from(output),
    direct: Float64Array.from(direct),
    way: Float64Array.from(WAY_FEATURES, (name) => way[name]),
    wayHidden: Float64Array.from(
      wayBias.flatMap((_, u) => asFitted.map((i) => wayHidden[u * names.length + i])),
    ),
    wayBias: Float64Array.from(wayBias),
    wayOutput: Float64Array.from(wayOutput),
  };
}

/**
 * How well the notes of a tune sit in the bars that a way gives them: a network with one hidden layer looks at each note, what
 * is around it and where the way puts it, and its answers are summed; a second, smaller one looks at the features of the whole way,
 * so that what speaks for one metre need not speak for another (`training/README.md`).
 */
export class BarJudge {
  readonly #weights: Weights;
  /** For each note and unit, what the surroundings of the note add. */
  readonly #heard: Float64Array;
  readonly #count: number;

  /** @param notes  in time order, at least two */
  constructor(notes: readonly BarNote[]) {
    kept ??= readWeights();
    this.#weights = kept;
    const { context, bias } = kept;
    const units = bias.length;
    this.#count = notes.length;
    this.#heard = new Float64Array(notes.length * units);
    for (const [n, inputs] of noteContexts(notes).entries()) {
      for (let u = 0; u < units; u++) {
        let sum = bias[u];
        for (let i = 0; i < CONTEXT_INPUTS; i++) sum += context[u * CONTEXT_INPUTS + i] * inputs[i];
        this.#heard[n * units + u] = sum;
      }
    }
  }

  /**
   * What is added to the natural log of how likely a way is.
   * @param features  `wayFeatures` of the way
   * @param repeats  first notes of its repeats (`repeatStarts`)
   */
  score(barred: BarredPath, features: Float64Array, repeats: readonly number[]): number {
    const { place, output, direct } = this.#weights;
    const units = output.length;
    const inputs = placeInputs(barred, repeats);
    const sums = new Float64Array(units);
    let notes = 0;
    for (let n = 0; n < this.#count; n++) {
      for (let u = 0; u < units; u++) sums[u] = this.#heard[n * units + u];
      for (let i = 0; i < PLACE_INPUTS; i++) {
        const input = inputs[n * PLACE_INPUTS + i];
        // Most are zero.
        if (input === 0) continue;
        notes += direct[i] * input;
        const row = i * units;
        for (let u = 0; u < units; u++) sums[u] += place[row + u] * input;
      }
      for (let u = 0; u < units; u++) notes += output[u] * tanh(sums[u]);
    }
    return this.#whole(features) + notes * countOften(this.#count);
  }

  /** What is added by the features of the whole way. */
  #whole(features: Float64Array): number {
    const { way, wayHidden, wayBias, wayOutput } = this.#weights;
    const count = way.length;
    let sum = 0;
    for (let i = 0; i < count; i++) sum += way[i] * features[i];
    for (let u = 0; u < wayBias.length; u++) {
      let unit = wayBias[u];
      for (let i = 0; i < count; i++) unit += wayHidden[u * count + i] * features[i];
      sum += wayOutput[u] * tanh(unit);
    }
    return sum;
  }
}

/** Steps of the table of `tanh` to a unit, and where it is flat. */
const TANH_STEPS = 128;
const TANH_FLAT = 6;
const TANH = Float64Array.from({ length: 2 * TANH_FLAT * TANH_STEPS + 2 }, (_, i) =>
  Math.tanh(i / TANH_STEPS - TANH_FLAT),
);

/** By table, to four places and more. */
function tanh(x: number): number {
  const at = (Math.max(-TANH_FLAT, Math.min(TANH_FLAT, x)) + TANH_FLAT) * TANH_STEPS;
  const before = Math.floor(at);
  return TANH[before] + (at - before) * (TANH[before + 1] - TANH[before]);
}
