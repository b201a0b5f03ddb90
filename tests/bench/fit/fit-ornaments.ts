/**
 * Fits the networks in src/measure/ornaments/level-network.json to takes with ornaments that it renders (a quarter of an hour on one
 * core), and prints that file. The takes to develop on and those to report are only judged.
 *   npx tsx tests/bench/fit/fit-ornaments.ts > src/measure/ornaments/level-network.json
 */
import {
  HELD_OUT_ROUNDS,
  LEVEL_KINDS,
  type LevelExamples,
  levelExamples,
  levelFigures,
} from '../ornaments/examples.ts';
import { ORNAMENT_SEEDS } from '../ornaments/takes.ts';
import { fitNetwork, fittedFile, rounded, today } from './fit-network.ts';

/** Takes drawn like those of the bench, and takes drawn more broadly. */
const SEEDS = [3001, 3002, 3003, 3004, 3005, 3006, 3007, 3008, 3009, 3010, 3011, 3012];
const BROAD_SEEDS = [3101, 3102, 3103, 3104, 3105, 3106, 3107, 3108];
const ROUNDS = 6;
/** Chosen on the takes to develop on, and by fitting to half of the seeds and judging the other half. */
const UNITS = 8;
const RIDGE = 8;

const drawn = await levelExamples(SEEDS, ROUNDS);
const broad = await levelExamples(BROAD_SEEDS, ROUNDS, true);
const examples: LevelExamples = {
  tremolo: [...drawn.tremolo, ...broad.tremolo],
  hand: [...drawn.hand, ...broad.hand],
};
const [tremolo, hand] = LEVEL_KINDS.map((kind) => rounded(fitNetwork(examples[kind], UNITS, RIDGE)));
const networks = { tremolo, hand };
const report = await levelExamples([ORNAMENT_SEEDS.report], HELD_OUT_ROUNDS);
const card = {
  what: 'tremolo, hand: log odds that a note has either, from the evidence of levelMoves (src/measure/ornaments/level-moves.ts)',
  set: `takes that the script renders with ornaments planted (tests/bench/ornaments), ${ROUNDS} rounds a seed, the second seeds drawn more broadly`,
  seed: `takes: ${SEEDS.join(', ')}; broad: ${BROAD_SEEDS.join(', ')}; weights: 1 (tests/bench/fit/fit-network.ts)`,
  script: 'tests/bench/fit/fit-ornaments.ts',
  command: 'npx tsx tests/bench/fit/fit-ornaments.ts > src/measure/ornaments/level-network.json',
  training: levelFigures(networks, examples),
  heldOut: `seed ${ORNAMENT_SEEDS.report}, ${HELD_OUT_ROUNDS} rounds, which nothing was chosen on (npm run held-out prints it): ${levelFigures(networks, report)}`,
  date: today(),
};
console.log(fittedFile(card, networks));
