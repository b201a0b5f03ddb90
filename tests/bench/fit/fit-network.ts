import { seededRng } from '../../../samples/synth/rng.ts';
import { logOddsOf, type SmallNetwork } from '../../../src/decode/small-network.ts';
import type { WeightCard } from '../../../src/fitted.ts';

/** One example: features, and whether it is of the wanted kind. */
export interface Example {
  readonly features: readonly number[];
  readonly positive: boolean;
  readonly weight: number;
}

/** Rounds over all examples, and the step of the first; it falls to 0 with half a cosine. */
const ROUNDS = 1500;
const FIRST_STEP = 0.03;
/** Adam's memory of gradients and of their squares (Kingma and Ba, ICLR 2015). */
const GRADIENT_MEMORY = 0.9;
const SQUARE_MEMORY = 0.999;
const SEED = 1;

/**
 * Fits a network to examples by cross-entropy, with a ridge on the weights that the features have when each is scaled
 * to mean 0 and variance 1. The same examples give the same network.
 */
export function fitNetwork(examples: readonly Example[], units: number, ridge: number): SmallNetwork {
  const count = examples[0].features.length;
  const { mean, scale } = scales(examples, count);
  const inputs = new Float64Array(examples.length * count);
  examples.forEach(({ features }, n) => {
    for (let i = 0; i < count; i++) inputs[n * count + i] = (features[i] - mean[i]) * scale[i];
  });
  // Each unit's inputs, its bias and its output; then the direct way and its bias.
  const size = units * (count + 2) + count + 1;
  const rng = seededRng(SEED);
  const weights = Float64Array.from({ length: size }, () => 0.2 * (rng.next() - 0.5));
  const gradient = new Float64Array(size);
  const momentum = new Float64Array(size);
  const squares = new Float64Array(size);
  for (let round = 1; round <= ROUNDS; round++) {
    gradientOf(examples, inputs, count, units, weights, gradient);
    const step = FIRST_STEP * 0.5 * (1 + Math.cos((Math.PI * round) / ROUNDS));
    for (let i = 0; i < size; i++) {
      const slope = gradient[i] + ridge * weights[i];
      momentum[i] = GRADIENT_MEMORY * momentum[i] + (1 - GRADIENT_MEMORY) * slope;
      squares[i] = SQUARE_MEMORY * squares[i] + (1 - SQUARE_MEMORY) * slope * slope;
      const settled = momentum[i] / (1 - GRADIENT_MEMORY ** round);
      weights[i] -= (step * settled) / (Math.sqrt(squares[i] / (1 - SQUARE_MEMORY ** round)) + 1e-8);
    }
  }
  return unscaled(weights, count, units, mean, scale);
}

function scales(examples: readonly Example[], count: number): { mean: Float64Array; scale: Float64Array } {
  const mean = new Float64Array(count);
  const scale = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    mean[i] = examples.reduce((sum, { features }) => sum + features[i], 0) / examples.length;
    const variance = examples.reduce((sum, { features }) => sum + (features[i] - mean[i]) ** 2, 0);
    scale[i] = 1 / Math.sqrt(variance / examples.length + 1e-9);
  }
  return { mean, scale };
}

function gradientOf(
  examples: readonly Example[],
  inputs: Float64Array,
  count: number,
  units: number,
  weights: Float64Array,
  gradient: Float64Array,
): void {
  gradient.fill(0);
  const stride = count + 2;
  const direct = units * stride;
  const answers = new Float64Array(units);
  for (let n = 0; n < examples.length; n++) {
    const x = n * count;
    let sum = weights[direct + count];
    for (let i = 0; i < count; i++) sum += weights[direct + i] * inputs[x + i];
    for (let u = 0; u < units; u++) {
      let inner = weights[u * stride + count];
      for (let i = 0; i < count; i++) inner += weights[u * stride + i] * inputs[x + i];
      answers[u] = Math.tanh(inner);
      sum += weights[u * stride + count + 1] * answers[u];
    }
    const pull = examples[n].weight * (1 / (1 + Math.exp(-sum)) - (examples[n].positive ? 1 : 0));
    // Sure ones add too little to be worth the time.
    if (Math.abs(pull) < 1e-5) continue;
    for (let i = 0; i < count; i++) gradient[direct + i] += pull * inputs[x + i];
    gradient[direct + count] += pull;
    for (let u = 0; u < units; u++) {
      const at = u * stride;
      gradient[at + count + 1] += pull * answers[u];
      const inner = pull * weights[at + count + 1] * (1 - answers[u] * answers[u]);
      for (let i = 0; i < count; i++) gradient[at + i] += inner * inputs[x + i];
      gradient[at + count] += inner;
    }
  }
}

/** The same network for unscaled features. */
function unscaled(
  weights: Float64Array,
  count: number,
  units: number,
  mean: Float64Array,
  scale: Float64Array,
): SmallNetwork {
  const way = (at: number): { bias: number; inputs: number[] } => {
    const inputs = Array.from({ length: count }, (_, i) => weights[at + i] * scale[i]);
    return { bias: weights[at + count] - inputs.reduce((sum, value, i) => sum + value * mean[i], 0), inputs };
  };
  const stride = count + 2;
  const { bias, inputs } = way(units * stride);
  const hidden = Array.from({ length: units }, (_, u) => ({
    ...way(u * stride),
    output: weights[u * stride + count + 1],
  }));
  return { bias, direct: inputs, hidden };
}

/** Numbers to four digits. */
export function rounded({ bias, direct, hidden }: SmallNetwork): SmallNetwork {
  const round = (value: number): number => Number(value.toPrecision(4));
  return {
    bias: round(bias),
    direct: direct.map(round),
    hidden: hidden.map((unit) => ({
      bias: round(unit.bias),
      output: round(unit.output),
      inputs: unit.inputs.map(round),
    })),
  };
}

/** What a file of fitted weights holds: its card, then the weights by name, lists of numbers in one line. */
export function fittedFile(card: WeightCard, weights: Readonly<Record<string, unknown>>): string {
  const text = JSON.stringify({ card, ...weights }, null, 2);
  return text.replaceAll(/\[[-\d.,e\s]+\]/g, (list) =>
    list.replaceAll(/\s+/g, ' ').replaceAll(/\[ | \]/g, (end) => end.trim()),
  );
}

/** Figures of each folder that was not fitted to, for a card. */
export async function heldOut(
  folders: readonly string[],
  figures: (folder: string) => Promise<string>,
): Promise<string> {
  const told: string[] = [];
  for (const folder of folders) told.push(`${folder}: ${await figures(folder)}`);
  return told.join('; ') || 'not recorded';
}

/** Today, for a card. */
export const today = (): string => new Date().toISOString().slice(0, 10);

/** How many examples there are of each kind, and how many the network takes for the other at log odds 0, in words. */
export function mistakesOf(network: SmallNetwork, examples: readonly Example[]): string {
  const says = ({ features }: Example): boolean => logOddsOf(network, features) > 0;
  const positives = examples.filter(({ positive }) => positive);
  const others = examples.filter(({ positive }) => !positive);
  const missed = positives.filter((example) => !says(example)).length;
  const wrong = others.filter(says).length;
  return `${positives.length} of the kind, ${missed} missed; ${others.length} others, ${wrong} taken for it`;
}
