/**
 * Fits the weights of the features of a way to bar a tune (`src/music/rhythm/bars/way-weights.json`) to the ways written by
 * `bar-ways.ts`. It maximises the expected F1 of the downbeats, at the right tempo octave, over the ways by their probability.
 *   npx tsx tests/bench/fit/fit-bars.ts WAYS.jsonl… > src/music/rhythm/bars/way-weights.json
 */
import { createReadStream } from 'node:fs';
import { basename } from 'node:path';
import { createInterface } from 'node:readline';
import { WAY_FEATURES } from '../../../src/music/rhythm/bars/way-features.ts';
import { fittedFile, today } from './fit-network.ts';

/** The ways of one tune: their features, and the worth of each, [0, 1]. */
interface Example {
  readonly ways: readonly { readonly features: readonly number[]; readonly worth: number }[];
}

/** The parts of a line written by `bar-ways.ts` that are needed here. */
interface Written {
  readonly bpm: number;
  readonly ways: readonly {
    readonly features: readonly number[];
    readonly bpm: number;
    readonly f1: number;
  }[];
}

/** A way at twice or half the tempo loses this share of its worth. */
const OTHER_OCTAVE = 0.4;
const RIDGE = 0.002;
const STEPS = 600;
const RATE = 0.03;

const files = process.argv.slice(2);
const examples: Example[] = [];
for (const file of files) {
  for await (const line of createInterface({ input: createReadStream(file) })) {
    const { bpm, ways } = JSON.parse(line) as Written;
    examples.push({
      ways: ways.map((way) => {
        const octave = Math.abs(Math.log2(way.bpm / bpm)) < 0.3;
        return { features: way.features, worth: way.f1 * (octave ? 1 : 1 - OTHER_OCTAVE) };
      }),
    });
  }
}
console.error(`${examples.length} tunes`);

const size = WAY_FEATURES.length;
const weights = new Float64Array(size);
weights[0] = 1;

/** Mean natural log of the expected worth, and its gradient; maximising the worth itself did worse on other tunes. */
function objective(): { value: number; gradient: Float64Array } {
  const gradient = new Float64Array(size);
  let value = 0;
  for (const { ways } of examples) {
    const scores = ways.map(({ features }) => features.reduce((sum, x, i) => sum + x * weights[i], 0));
    const most = Math.max(...scores);
    const odds = scores.map((score) => Math.exp(score - most));
    const all = odds.reduce((sum, x) => sum + x, 0);
    const worth = 0.02 + ways.reduce((sum, way, w) => sum + (odds[w] / all) * way.worth, 0);
    value += Math.log(worth) / examples.length;
    for (const [w, way] of ways.entries()) {
      const factor = ((odds[w] / all) * (way.worth + 0.02 - worth)) / worth / examples.length;
      for (let i = 0; i < size; i++) gradient[i] += factor * way.features[i];
    }
  }
  for (let i = 0; i < size; i++) {
    const away = weights[i] - (i === 0 ? 1 : 0);
    value -= 0.5 * RIDGE * away * away;
    gradient[i] -= RIDGE * away;
  }
  return { value, gradient };
}

// Adam: Kingma & Ba, ICLR 2015.
const mean = new Float64Array(size);
const square = new Float64Array(size);
for (let t = 1; t <= STEPS; t++) {
  const { value, gradient } = objective();
  if (t % 100 === 1) console.error(`${t}: ${value.toFixed(4)}`);
  for (let i = 0; i < size; i++) {
    mean[i] = 0.9 * mean[i] + 0.1 * gradient[i];
    square[i] = 0.999 * square[i] + 0.001 * gradient[i] ** 2;
    const step = mean[i] / (1 - 0.9 ** t) / (Math.sqrt(square[i] / (1 - 0.999 ** t)) + 1e-8);
    weights[i] += RATE * (1 - t / STEPS) * step;
  }
}

const fitted = Object.fromEntries(WAY_FEATURES.map((name, i) => [name, Number(weights[i].toFixed(3))]));
const card = {
  what: 'weights: what each feature of a way to bar a tune (src/music/rhythm/bars/way-features.ts) adds to the natural log of its probability',
  set: `${examples.length} tunes, played with rubato and breaths (tests/bench/fit/bar-ways.ts): ${files.map((file) => basename(file)).join(', ')}`,
  seed: 'none: it starts from the likelihood alone',
  script: 'tests/bench/fit/fit-bars.ts',
  command:
    'sh src/music/rhythm/bars/training/make.sh WORK FOLDER… --unlike FOLDER…; its second step is npx tsx tests/bench/fit/fit-bars.ts WAYS.jsonl… > src/music/rhythm/bars/way-weights.json',
  training: `mean natural log of the expected worth ${objective().value.toFixed(4)}, minus the ridge penalty`,
  heldOut: 'npm run held-out prints it',
  date: today(),
};
console.log(fittedFile(card, { weights: fitted }));
