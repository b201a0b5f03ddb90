import type { BarredPath } from './bars/bar-lines.ts';
import type { Reading } from './pulses.ts';

/** One way to write what was played, with the natural log of how likely it is. */
export interface BarredReading {
  readonly read: Reading;
  readonly barred: BarredPath;
  readonly score: number;
}

/** Ways less likely than the likeliest by so much, in natural log, tell nothing more. */
const BEAM = 8;
/** So many of them may be chosen. */
const CHOICES = 20;
/** The likeliest stays chosen unless another one is expected to be right in so much more. */
const CLEARLY_SAFER = 0.02;

/**
 * The way whose bar lines are expected to be right most often, which need not be the likeliest: the one that agrees most
 * with all others, by how likely each is (minimum Bayes risk).
 * @param ways  at least one
 * @returns with the share of its notes on bar lines that are expected to be right (F1), [0, 1]
 */
export function safestWay(ways: readonly BarredReading[]): { way: BarredReading; confidence: number } {
  const most = ways.reduce((best, { score }) => Math.max(best, score), Number.NEGATIVE_INFINITY);
  const near = ways.filter(({ score }) => score >= most - BEAM).sort((a, b) => b.score - a.score);
  const weights = near.map(({ score }) => Math.exp(score - most));
  const all = weights.reduce((sum, weight) => sum + weight, 0);
  const marks = near.map(({ barred }) => downbeats(barred));
  let safest = 0;
  let agreed = 0;
  for (let i = 0; i < Math.min(CHOICES, near.length); i++) {
    const sum = near.reduce((total, _, j) => total + weights[j] * agreement(marks[i], marks[j]), 0);
    if (sum <= agreed + (safest === 0 && i > 0 ? CLEARLY_SAFER * all : 0)) continue;
    agreed = sum;
    safest = i;
  }
  return { way: near[safest], confidence: Math.min(1, Math.round((100 * agreed) / all) / 100) };
}

function downbeats({ plan, atTicks }: BarredPath): boolean[] {
  return atTicks.map((at) => at % plan.barTicks === 0);
}

/** F1 of the notes on bar lines. */
function agreement(own: readonly boolean[], other: readonly boolean[]): number {
  let both = 0;
  let all = 0;
  for (let i = 0; i < own.length; i++) {
    if (own[i] && other[i]) both++;
    all += (own[i] ? 1 : 0) + (other[i] ? 1 : 0);
  }
  return all === 0 ? 1 : (2 * both) / all;
}
