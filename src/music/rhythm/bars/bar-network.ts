import { readFitted } from '../../../fitted.ts';
import type { BarPlan } from '../metre.ts';
import type { BarredPath } from './bar-lines.ts';
import { type BarNote, figureWeights, noteContexts, PlacedNotes } from './note-inputs.ts';
import { countOften, WAY_FEATURES } from './way-features.ts';

/** Weights as they lie in `bar-network.json`; layers are ordered by unit, then input. */
interface BarNetwork {
  readonly units: number;
  /** Weights of the notes around each note. */
  readonly context: readonly number[];
  /** Weights of where a way puts the note. */
  readonly place: readonly number[];
  readonly bias: readonly number[];
  readonly output: readonly number[];
  /** Weights from the place of the note straight to the output, past the hidden layer. */
  readonly direct: readonly number[];
  /** Weights of the features of the whole way. */
  readonly way: Readonly<Record<(typeof WAY_FEATURES)[number], number>>;
  /** A hidden layer over these features: by unit, then by feature in the order of `way`. */
  readonly wayHidden: readonly number[];
  readonly wayBias: readonly number[];
  readonly wayOutput: readonly number[];
}

/** The weights reordered for use: `context` and `place` by input, then unit. */
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

/** What the place of a note adds to each unit, and straight to the output. */
interface PlaceSums {
  readonly sums: Float64Array;
  readonly direct: number;
}

let kept: Weights | undefined;

function readWeights(): Weights {
  const fitted = readFitted<BarNetwork>('./bar-network.json', import.meta.url);
  const { units, context, place, bias, output, direct, way, wayHidden, wayBias, wayOutput } = fitted;
  const names = Object.keys(way);
  const asFitted = WAY_FEATURES.map((name) => names.indexOf(name));
  return {
    context: byInput(context, units),
    place: byInput(place, units),
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

/** Transposes weights ordered by unit, then input, to input, then unit. */
function byInput(weights: readonly number[], units: number): Float64Array {
  const inputs = weights.length / units;
  const turned = new Float64Array(weights.length);
  for (let input = 0, to = 0; input < inputs; input++) {
    for (let unit = 0; unit < units; unit++) turned[to++] = weights[unit * inputs + input];
  }
  return turned;
}

/** Adds the weighted inputs to each unit's sum; most inputs are zero and are skipped. */
function addInputs(inputs: Float64Array, weights: Float64Array, sums: Float64Array): void {
  const units = sums.length;
  for (let i = 0; i < inputs.length; i++) {
    const input = inputs[i];
    if (input === 0) continue;
    for (let u = 0, at = i * units; u < units; u++, at++) sums[u] += weights[at] * input;
  }
}

/**
 * How well the notes of a tune sit in the bars of a way. A network with one hidden layer judges each note by its
 * surroundings and by where the way puts it, and the outputs are summed, those of a recurring figure with less weight. A second, smaller one judges the features of the
 * whole way, so that evidence for one metre need not be evidence for another (`training/README.md`).
 */
export class BarJudge {
  readonly #weights: Weights;
  /** For each note and unit, what the note's surroundings add. */
  readonly #heard: readonly Float64Array[];
  /** How much each note counts. */
  readonly #counts: Float64Array;
  /** For each plan and kind of note (`PlacedNotes`), what its place adds to the units, and straight to the output. */
  readonly #placed = new Map<BarPlan, Map<number, PlaceSums>>();

  /** @param notes  in time order, at least two */
  constructor(notes: readonly BarNote[]) {
    kept ??= readWeights();
    const weights = kept;
    this.#weights = weights;
    this.#counts = figureWeights(notes.map(({ midi }) => Math.round(midi)));
    this.#heard = noteContexts(notes).map((inputs) => {
      const sums = Float64Array.from(weights.bias);
      addInputs(inputs, weights.context, sums);
      return sums;
    });
  }

  /**
   * What the network adds to the natural log of the probability of a way.
   * @param features  `wayFeatures` of the way
   * @param repeats  first notes of its repeats (`repeatStarts`)
   */
  score(barred: BarredPath, features: Float64Array, repeats: readonly number[]): number {
    const { output } = this.#weights;
    const placed = new PlacedNotes(barred, repeats);
    const known = this.#placed.get(barred.plan) ?? new Map<number, PlaceSums>();
    this.#placed.set(barred.plan, known);
    let notes = 0;
    for (let n = 0; n < this.#heard.length; n++) {
      const kind = placed.kind(n);
      let place = known.get(kind);
      if (place === undefined) {
        place = this.#placeSums(placed.inputs(n));
        known.set(kind, place);
      }
      notes += this.#counts[n] * (place.direct + answer(this.#heard[n], place.sums, output));
    }
    return this.#whole(features) + notes * countOften(this.#counts.reduce((sum, count) => sum + count, 0));
  }

  #placeSums(inputs: Float64Array): PlaceSums {
    const { place, direct, output } = this.#weights;
    const sums = new Float64Array(output.length);
    addInputs(inputs, place, sums);
    return { sums, direct: weighted(inputs, direct) };
  }

  /** What the features of the whole way add. */
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

function weighted(inputs: Float64Array, weights: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < inputs.length; i++) sum += weights[i] * inputs[i];
  return sum;
}

/** Output of a hidden layer whose inputs are given as two partial sums. */
function answer(sums: Float64Array, others: Float64Array, output: Float64Array): number {
  let answer = 0;
  for (let u = 0; u < output.length; u++) answer += output[u] * tanh(sums[u] + others[u]);
  return answer;
}

/** Resolution of the `tanh` table, in steps per unit, and the input beyond which it is flat. */
const TANH_STEPS = 128;
const TANH_FLAT = 6;
const TANH = Float64Array.from({ length: 2 * TANH_FLAT * TANH_STEPS + 2 }, (_, i) =>
  Math.tanh(i / TANH_STEPS - TANH_FLAT),
);

/** From a table, right to at least four decimal places. */
function tanh(x: number): number {
  const at = (Math.max(-TANH_FLAT, Math.min(TANH_FLAT, x)) + TANH_FLAT) * TANH_STEPS;
  // Rounds down, as it is not negative, and is quicker than `Math.floor`.
  const before = at | 0;
  return TANH[before] + (at - before) * (TANH[before + 1] - TANH[before]);
}
