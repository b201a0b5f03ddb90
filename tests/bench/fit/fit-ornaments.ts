/**
 * Fits the networks in src/measure/ornaments/level-network.json to takes with ornaments that it renders, and prints that file.
 * The set to develop on (`npm run bench -- --ornaments --seed 1701`) is only judged.
 *   npx tsx tests/bench/fit/fit-ornaments.ts > src/measure/ornaments/level-network.json
 */
import { readRecording } from '../../../src/audio/read.ts';
import { findHeld } from '../../../src/measure/held.ts';
import { BandMeter } from '../../../src/measure/ornaments/bands.ts';
import { hearMoves, LEAST_WAVES_SEC } from '../../../src/measure/ornaments/ornaments.ts';
import { hearPlaying } from '../../../src/pipeline.ts';
import { type RenderedTake, withOrnaments } from '../ornaments/render.ts';
import { isNamed, mostOverlapped } from '../ornaments/score.ts';
import { ORNAMENT_SEEDS } from '../ornaments/takes.ts';
import { type Example, fitNetwork, fittedFile, mistakesOf, rounded, today } from './fit-network.ts';

const SEEDS = [3001, 3002, 3003, 3004, 3005, 3006];
const ROUNDS = 6;
const UNITS = 0;
const RIDGE = 3;
const KINDS = ['tremolo', 'hand'] as const;

type Examples = Readonly<Record<(typeof KINDS)[number], Example[]>>;

/** What is heard of each note that is long enough, by kind whether that was planted. */
async function examplesOf({ path, harp, notes }: RenderedTake): Promise<Examples> {
  const { samples } = await readRecording(path);
  const { key, ...named } = harp;
  const { events } = await hearPlaying(samples, { ...named, harp: key });
  const bands = new BandMeter(samples);
  const examples: Examples = { tremolo: [], hand: [] };
  events.forEach((event, i) => {
    const pitch = findHeld(event);
    const truth = mostOverlapped(event, notes);
    if (pitch === null || event.set !== undefined || truth === null) return;
    if (event.offsetSec - event.onsetSec < LEAST_WAVES_SEC) return;
    const { moves } = hearMoves(event, events[i + 1], pitch, bands.measure(event));
    if (moves === null) return;
    const named = (truth.ornaments ?? []).filter(isNamed);
    for (const kind of KINDS) {
      if (moves[kind] === null) continue;
      const positive = named.some((one) => one.kind === kind);
      examples[kind].push({ features: moves.evidence, positive, weight: 1 });
    }
  });
  return examples;
}

async function examplesIn(seeds: readonly number[]): Promise<Examples> {
  const all: Examples = { tremolo: [], hand: [] };
  for (const seed of seeds) {
    await withOrnaments(seed, ROUNDS, async (takes) => {
      for (const take of takes) {
        const examples = await examplesOf(take);
        for (const kind of KINDS) all[kind].push(...examples[kind]);
      }
    });
  }
  return all;
}

const examples = await examplesIn(SEEDS);
const check = await examplesIn([ORNAMENT_SEEDS.develop]);
const networks = Object.fromEntries(
  KINDS.map((kind) => [kind, rounded(fitNetwork(examples[kind], UNITS, RIDGE))]),
);
const judged = (of: Examples): string =>
  KINDS.map((kind) => `${kind}: ${mistakesOf(networks[kind], of[kind])}`).join('; ');
const card = {
  what: 'tremolo, hand: log odds that a note has either, from the evidence of levelMoves (src/measure/ornaments/level-moves.ts)',
  set: `takes that the script renders with ornaments planted (tests/bench/ornaments), ${ROUNDS} rounds a seed`,
  seed: `takes: ${SEEDS.join(', ')}; weights: 1 (tests/bench/fit/fit-network.ts)`,
  script: 'tests/bench/fit/fit-ornaments.ts',
  command: 'npx tsx tests/bench/fit/fit-ornaments.ts > src/measure/ornaments/level-network.json',
  training: judged(examples),
  heldOut: `seed ${ORNAMENT_SEEDS.develop}, which the evidence was chosen on: ${judged(check)}`,
  date: today(),
};
console.log(fittedFile(card, networks));
