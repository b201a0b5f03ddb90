/**
 * Fits the weights by which the ways to bar a tune are weighed (`src/music/rhythm/bars/way-weights.json`) on tunes of folders of
 * ABC files, played with rubato and breaths, and on the songs to develop on; every tenth tune is left out for reporting.
 * What is made likely is the F1 of the downbeats at the right tempo octave, on average over the ways by how likely they are.
 *   npx tsx tests/bench/fit/fit-bars.ts FOLDER… [--every N] > src/music/rhythm/bars/way-weights.json
 */
import { parseArgs } from 'node:util';
import { WAY_FEATURES } from '../../../src/music/rhythm/bars/way-features.ts';
import { findWays } from '../../../src/music/rhythm/bars/ways.ts';
import { plansOf, restedNotes } from '../../../src/music/rhythm/beats.ts';
import { barTicks } from '../../../src/music/rhythm/metre.ts';
import { meanTempo } from '../../../src/music/rhythm/pulses.ts';
import { scoreTakes } from '../music/score-takes.ts';
import { plannedTakes } from '../songs/takes.ts';
import { fittedFile, today } from './fit-network.ts';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { every: { type: 'string', default: '7' }, seeds: { type: 'string', default: '4' } },
});

/** The ways of one tune: their features, and what each is worth, [0, 1]. */
interface Example {
  readonly name: string;
  readonly ways: readonly { readonly features: Float64Array; readonly worth: number }[];
}

/** Reading at twice or half the tempo costs this share. */
const OTHER_OCTAVE = 0.4;
const RIDGE = 0.002;
const STEPS = 600;
const RATE = 0.03;

function example(
  name: string,
  notes: readonly { onsetSec: number; offsetSec: number; midi: number }[],
  isDownbeat: readonly boolean[],
  tempoBpm: number,
): Example[] {
  const rested = restedNotes(notes);
  const given = { tempoBpm: null, pickupTicks: null, downbeatNote: null };
  const { ways } = findWays(rested, plansOf({}), given, false);
  const written = isDownbeat.filter(Boolean).length;
  if (ways.length < 2) return [];
  return [
    {
      name,
      ways: ways.map(({ features, read, barred }) => {
        const length = barTicks(barred.plan.metre);
        const found = barred.atTicks.map((at) => at % length === 0);
        const right = found.filter((is, i) => is && isDownbeat[i]).length;
        const f1 = (2 * right) / Math.max(1, written + found.filter(Boolean).length);
        const octave = Math.abs(Math.log2(meanTempo(rested, read.path) / tempoBpm)) < 0.3;
        return { features, worth: f1 * (octave ? 1 : 1 - OTHER_OCTAVE) };
      }),
    },
  ];
}

const examples: Example[] = [];
for (const folder of positionals) {
  for (let first = 0; first < 10 * Number(values.every); first += Number(values.every)) {
    // Tunes with a 9 at their end are left out.
    if (first % 10 === 9) continue;
    for (const take of scoreTakes(folder, 10 * Number(values.every), first, true, true)) {
      const onBar = take.inBarTicks.map((at) => at === 0);
      examples.push(...example(take.name, take.notes, onBar, take.tempoBpm));
    }
  }
}
console.error(`${examples.length} tunes of scores`);
for (const { song, performance, take } of plannedTakes(Number(values.seeds))) {
  const bar = (4 * song.metre.count) / song.metre.unit;
  const onBar = performance.atBeats.map((at) => Math.min(at % bar, bar - (at % bar)) < 1e-6);
  examples.push(...example(song.name, take.notes, onBar, song.tempoBpm));
}
console.error(`${examples.length} with songs`);

const size = WAY_FEATURES.length;
const weights = new Float64Array(size);
weights[0] = 1;

/** Mean natural log of the worth that is expected (of the worth itself: worse on other tunes), and its gradient. */
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

/**
 * The tunes that were counted are in 2/4 oftener than what is played on a harmonica: so much is taken off (of 0, 0.5, 1.1 and 1.8
 * the one with the best F1 on tunes that nothing was fitted to).
 */
weights[WAY_FEATURES.indexOf('2/4')] -= 1.1;
const fitted = Object.fromEntries(WAY_FEATURES.map((name, i) => [name, Number(weights[i].toFixed(3))]));
const card = {
  what: 'weights: what each feature of a way to bar a tune (src/music/rhythm/bars/way-features.ts) adds to the natural log of how likely it is',
  set: `one in ${values.every} tunes of ${positionals.join(', ')}, every tenth left out, and the songs to develop on with ${values.seeds} seeds`,
  seed: 'none: it starts from the likelihood alone',
  script: 'tests/bench/fit/fit-bars.ts',
  command:
    'npx tsx tests/bench/fit/fit-bars.ts FOLDER… [--every N] [--seeds N] > src/music/rhythm/bars/way-weights.json',
  training: `mean natural log of the worth that is expected ${objective().value.toFixed(4)}, ridge taken off`,
  heldOut: 'not recorded: npm run bench:bars and npm run bench:words print it',
  date: today(),
};
console.log(fittedFile(card, { weights: fitted }));
