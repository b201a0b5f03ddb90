/**
 * Fits the network in src/analysis/pitch/glance-network.json to what the pitch network hears, and prints that file. It is to be
 * fitted again whenever the weights of the pitch network change, which takes six minutes.
 *   npx tsx tests/bench/fit/fit-glance.ts FOLDER… --real FOLDER… [--check FOLDER…] > FILE
 * FOLDER holds recordings; labels aren't needed. Those of --real are rarer and count four times. Takes with several holes are made
 * here. How many blocks are lost is also told for other takes with several holes, and for the folders of --check.
 */

import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { parseArgs } from 'node:util';
import { seededRng } from '../../../samples/synth/rng.ts';
import { EVIDENCE_SLOTS, type PitchEvidence, STEPS_PER_NAT } from '../../../src/analysis/pitch/evidence.ts';
import { analyseFrames, HEAR_FRAMES } from '../../../src/analysis/pitch/frames.ts';
import { Glance, type GlanceWeights, GLANCE_INPUTS as INPUTS } from '../../../src/analysis/pitch/glance.ts';
import { ONE } from '../../../src/analysis/pitch/network-weights.ts';
import { HALO } from '../../../src/analysis/pitch/pitch-network.ts';
import { BLOCK } from '../../../src/analysis/pitch/where-to-look.ts';
import { readRecording } from '../../../src/audio/read.ts';
import { probabilityOf, quantile } from '../../../src/statistics.ts';
import { madeTakes } from '../together/report.ts';
import { fittedFile, heldOut, today } from './fit-network.ts';

const UNITS = 32;
const ROUNDS = 8000;
const PER_ROUND = 1024;
/** The step of the first round; it falls to 0 with half a cosine. */
const FIRST_STEP = 0.003;
/** Adam's memory of gradients and of their squares (Kingma and Ba, ICLR 2015). */
const GRADIENT_MEMORY = 0.9;
const SQUARE_MEMORY = 0.999;
const SEED = 1;
/** Of the takes with several holes, and how many of each kind; those to judge by are the same as in `--together --seed 12`. */
const TOGETHER_SEED = 1001;
const TOGETHER_ROUNDS = 3;
const OTHER_SEED = 12;
/** A block that holds something is worth this many that don't. */
const WORTH = 15;
const REAL_TIMES = 4;
/** This share of the blocks that hold something may be lost. */
const LOST = 0.001;
/** Log odds below which the pitch network's evidence isn't kept, and what stands for them. */
const LEAST = -4;
const NOTHING = -8;
/** Blocks at the least log odds count as two thirds full, and the share rises steeply from there. */
const HALF_FULL = -4.5;
const STEEPNESS = 1.2;

/** Blocks of frames of a pitch: what a glance sees of each, and the log odds that the pitch network then finds in it. */
interface Blocks {
  readonly inputs: Int16Array;
  readonly found: number[];
}

/** The highest log odds of a row in frames [from, to), that it sounds or begins. */
function mostOf({ rows, sounding, onset }: PitchEvidence, row: number, from: number, to: number): number {
  let most = NOTHING;
  const end = Math.min(to * EVIDENCE_SLOTS, rows.length);
  for (let s = Math.max(0, from * EVIDENCE_SLOTS); s < end; s++) {
    if (rows[s] === row + 1) most = Math.max(most, Math.max(sounding[s], onset[s]) / STEPS_PER_NAT);
  }
  return most;
}

/** The blocks of a recording that the pitch network looks at when nothing is skipped. */
async function blocksOf(path: string): Promise<Blocks> {
  const { samples } = await readRecording(path);
  const seen: { row: number; frame: number; inputs: Int16Array }[] = [];
  const { take, eachEmpty } = Glance.prototype;
  let origin = Number.NaN;
  let chunks = 0;
  Glance.prototype.take = function (...rows) {
    origin = chunks++ * HEAR_FRAMES.chunkSize - HALO;
    take.apply(this, rows);
  };
  Glance.prototype.eachEmpty = function (row, from, to) {
    const past = HALO + HEAR_FRAMES.chunkSize;
    for (let frame = from; frame < Math.min(to, past); frame += BLOCK) {
      seen.push({ row, frame: origin + frame, inputs: this.inputs(row, frame) });
    }
  };
  const { evidence } = await analyseFrames(samples, async () => {});
  Object.assign(Glance.prototype, { take, eachEmpty });
  const inputs = new Int16Array(seen.length * INPUTS);
  for (const [n, block] of seen.entries()) inputs.set(block.inputs, n * INPUTS);
  return { inputs, found: seen.map(({ row, frame }) => mostOf(evidence, row, frame, frame + BLOCK)) };
}

async function blocksIn(folders: readonly string[]): Promise<Blocks[]> {
  const all: Blocks[] = [];
  for (const folder of folders) {
    const files = readdirSync(folder).filter((file) => /\.(?:wav|flac)$/i.test(file));
    for (const file of files.sort()) all.push(await blocksOf(join(folder, file)));
  }
  return all;
}

async function togetherBlocks(seed: number, rounds: number): Promise<Blocks[]> {
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-glance-'));
  try {
    madeTakes(folder, seed, rounds);
    return await blocksIn([folder]);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Weights while they are fitted, to inputs of mean 0 and variance 1: of each unit, its bias; then of the answer, its bias. */
class Fit {
  readonly weights = new Float64Array(UNITS * (INPUTS + 2) + 1);
  readonly #mean = new Float64Array(INPUTS);
  readonly #scale = new Float64Array(INPUTS);
  readonly #x = new Float64Array(INPUTS);
  readonly #units = new Float64Array(UNITS);
  readonly answers = UNITS * (INPUTS + 1);

  constructor(sets: readonly Blocks[]) {
    const count = sets.reduce((sum, { found }) => sum + found.length, 0);
    const squares = new Float64Array(INPUTS);
    for (const { inputs } of sets) {
      for (let n = 0; n < inputs.length; n++) {
        this.#mean[n % INPUTS] += inputs[n] / ONE / count;
        squares[n % INPUTS] += (inputs[n] / ONE) ** 2 / count;
      }
    }
    // The constant keeps inputs that hardly vary from counting much.
    for (let i = 0; i < INPUTS; i++)
      this.#scale[i] = 1 / (Math.sqrt(Math.max(0, squares[i] - this.#mean[i] ** 2)) + 0.4);
    const rng = seededRng(SEED);
    for (let i = 0; i < UNITS * INPUTS; i++) this.weights[i] = 0.25 * (rng.next() - 0.5);
    for (let u = 0; u < UNITS; u++) this.weights[this.answers + u] = rng.next() - 0.5;
  }

  /** The answer for a block, log odds. */
  answer({ inputs }: Blocks, n: number): number {
    const { weights, answers } = this;
    const x = this.#x;
    for (let i = 0; i < INPUTS; i++) x[i] = (inputs[n * INPUTS + i] / ONE - this.#mean[i]) * this.#scale[i];
    let sum = weights[answers + UNITS];
    // Four at a time: one sum alone would wait for itself.
    for (let u = 0; u < UNITS; u += 4) {
      const at = u * INPUTS;
      let [a, b, c, d] = [0, 0, 0, 0];
      for (let i = 0; i < INPUTS; i++) {
        a += weights[at + i] * x[i];
        b += weights[at + INPUTS + i] * x[i];
        c += weights[at + 2 * INPUTS + i] * x[i];
        d += weights[at + 3 * INPUTS + i] * x[i];
      }
      for (const [k, inner] of [a, b, c, d].entries()) {
        this.#units[u + k] = Math.max(0, inner + weights[UNITS * INPUTS + u + k]);
        sum += weights[answers + u + k] * this.#units[u + k];
      }
    }
    return sum;
  }

  /** Adds what the block that was answered last pulls. */
  addPull(pull: number, gradient: Float64Array): void {
    const { weights, answers } = this;
    const x = this.#x;
    gradient[answers + UNITS] += pull;
    for (let u = 0; u < UNITS; u++) {
      if (this.#units[u] === 0) continue;
      gradient[answers + u] += pull * this.#units[u];
      const inner = pull * weights[answers + u];
      gradient[UNITS * INPUTS + u] += inner;
      const at = u * INPUTS;
      for (let i = 0; i < INPUTS; i++) gradient[at + i] += inner * x[i];
    }
  }

  /** The same for inputs as they are, with answers below 0 where they are below `least` here. */
  unscaled(least: number): GlanceWeights {
    const { weights, answers } = this;
    const round = (value: number): number => Number(value.toPrecision(4));
    const inner = Array.from({ length: UNITS * INPUTS }, (_, at) => weights[at] * this.#scale[at % INPUTS]);
    const bias = Array.from({ length: UNITS }, (_, u) => {
      const atMean = this.#mean.reduce((sum, mean, i) => sum + mean * inner[u * INPUTS + i], 0);
      return weights[UNITS * INPUTS + u] - atMean;
    });
    return {
      hidden: { weights: inner.map(round), bias: bias.map(round) },
      answer: {
        weights: Array.from(weights.subarray(answers, answers + UNITS), round),
        bias: [round(weights[answers + UNITS] - least)],
      },
    };
  }
}

/** Fits by cross-entropy to blocks drawn at random. */
function fitted(sets: readonly Blocks[]): Fit {
  const network = new Fit(sets);
  const { weights } = network;
  const drawn = sets.flatMap((set) => set.found.map((found, n) => ({ set, found, n })));
  const gradient = new Float64Array(weights.length);
  const momentum = new Float64Array(weights.length);
  const squares = new Float64Array(weights.length);
  const rng = seededRng(SEED);
  for (let round = 1; round <= ROUNDS; round++) {
    gradient.fill(0);
    for (let k = 0; k < PER_ROUND; k++) {
      const { set, found, n } = drawn[Math.floor(rng.next() * drawn.length)];
      const share = probabilityOf(STEEPNESS * (found - HALF_FULL));
      const pull = (found < LEAST ? 1 : WORTH) * (probabilityOf(network.answer(set, n)) - share);
      // Sure ones add too little to be worth the time.
      if (Math.abs(pull) > 0.002) network.addPull(pull / PER_ROUND, gradient);
    }
    const step = FIRST_STEP * 0.5 * (1 + Math.cos((Math.PI * round) / ROUNDS));
    for (let i = 0; i < weights.length; i++) {
      momentum[i] = GRADIENT_MEMORY * momentum[i] + (1 - GRADIENT_MEMORY) * gradient[i];
      squares[i] = SQUARE_MEMORY * squares[i] + (1 - SQUARE_MEMORY) * gradient[i] ** 2;
      const settled = momentum[i] / (1 - GRADIENT_MEMORY ** round);
      weights[i] -= (step * settled) / (Math.sqrt(squares[i] / (1 - SQUARE_MEMORY ** round)) + 1e-8);
    }
    if (round % 1000 === 0) console.error(`${round} rounds`);
  }
  return network;
}

function figures(network: Fit, least: number, sets: readonly Blocks[]): string {
  const counts = { empty: 0, skipped: 0, full: 0, lost: 0, likely: 0, likelyLost: 0 };
  for (const set of sets) {
    set.found.forEach((found, n) => {
      const skipped = network.answer(set, n) < least ? 1 : 0;
      if (found < LEAST) {
        counts.empty++;
        counts.skipped += skipped;
        return;
      }
      counts.full++;
      counts.lost += skipped;
      if (found < LEAST / 2) return;
      counts.likely++;
      counts.likelyLost += skipped;
    });
  }
  const share = ((100 * counts.skipped) / counts.empty).toFixed(0);
  return `${share} % of ${counts.empty} empty blocks skipped; lost ${counts.lost} of ${counts.full} with log odds of ${LEAST} or more, ${counts.likelyLost} of ${counts.likely} with ${LEAST / 2} or more`;
}

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    real: { type: 'string', multiple: true, default: [] },
    check: { type: 'string', multiple: true, default: [] },
  },
});
const rendered = [
  ...(await blocksIn(positionals)),
  ...(await togetherBlocks(TOGETHER_SEED, TOGETHER_ROUNDS)),
];
const real = await blocksIn(values.real);
const sets = [...rendered, ...Array.from({ length: REAL_TIMES }, () => real).flat()];
console.error(`${sets.reduce((sum, { found }) => sum + found.length, 0)} blocks`);
const network = fitted(sets);
const full = sets.flatMap((set) =>
  set.found.flatMap((found, n) => (found < LEAST ? [] : [network.answer(set, n)])),
);
const least = quantile(full, LOST);
const card = {
  what: 'whether a block of 16 frames of a pitch holds anything that the pitch network would hear (below 0: nothing; src/analysis/pitch/glance.ts)',
  set: `what the pitch network hears in the recordings of ${[...positionals, ...values.real].map((folder) => basename(folder)).join(', ')} (the last ${values.real.length} count ${REAL_TIMES} times) and in ${TOGETHER_ROUNDS} rounds of takes with several holes, seed ${TOGETHER_SEED}`,
  seed: String(SEED),
  script: 'tests/bench/fit/fit-glance.ts',
  command:
    'npx tsx tests/bench/fit/fit-glance.ts FOLDER… --real FOLDER… --check FOLDER… > src/analysis/pitch/glance-network.json',
  training: figures(network, least, [...rendered, ...real]),
  heldOut: [
    `takes with several holes, seed ${OTHER_SEED}: ${figures(network, least, await togetherBlocks(OTHER_SEED, 1))}`,
    await heldOut(values.check, async (folder) => figures(network, least, await blocksIn([folder]))),
  ].join('; '),
  date: today(),
};
console.log(fittedFile(card, { ...network.unscaled(least) }));
