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
}

let kept: BarNetwork | undefined;

/**
 * How well the notes of a tune sit in the bars that a way gives them: a network with one hidden layer looks at each note, what
 * is around it and where the way puts it, and its answers are summed (`training/README.md`).
 */
export class BarJudge {
  readonly #network: BarNetwork;
  /** For each note and unit, what the surroundings of the note add. */
  readonly #heard: Float64Array;
  readonly #count: number;

  /** @param notes  in time order, at least two */
  constructor(notes: readonly BarNote[]) {
    kept ??= readFitted<BarNetwork>('./bar-network.json', import.meta.url);
    const { units, context, bias } = kept;
    this.#network = kept;
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
    const { units, place, output, direct, way } = this.#network;
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
        for (let u = 0; u < units; u++) sums[u] += place[u * PLACE_INPUTS + i] * input;
      }
      for (let u = 0; u < units; u++) notes += output[u] * Math.tanh(sums[u]);
    }
    const whole = WAY_FEATURES.reduce((sum, name, i) => sum + features[i] * way[name], 0);
    return whole + notes * countOften(this.#count);
  }
}
