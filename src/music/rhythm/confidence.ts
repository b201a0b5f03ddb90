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
/**
 * What speaks for a way speaks again and again, so that all of it together promises too much: for the confidence its natural log
 * counts this much (of 1, 0.7, 0.5, 0.4 and 0.3: on 404 heard takes of tunes that were left out, F1 0.86, it says 0.88, and 0.4 says 0.85).
 */
const SHARPNESS = 0.5;
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
  const marks = near.map(({ barred }) => downbeats(barred));
  let safest = 0;
  let agreed = 0;
  for (let i = 0; i < Math.min(CHOICES, near.length); i++) {
    const share = expectedAgreement(marks, i, weights);
    if (share <= agreed + (safest === 0 && i > 0 ? CLEARLY_SAFER : 0)) continue;
    agreed = share;
    safest = i;
  }
  const doubted = weights.map((weight) => weight ** SHARPNESS);
  const confidence = Math.min(1, Math.round(100 * expectedAgreement(marks, safest, doubted)) / 100);
  return { way: near[safest], confidence };
}

/** How far the marks of one way agree with all, on average by their weights. */
function expectedAgreement(
  marks: readonly (readonly boolean[])[],
  own: number,
  weights: readonly number[],
): number {
  let sum = 0;
  let all = 0;
  for (const [i, weight] of weights.entries()) {
    sum += weight * agreement(marks[own], marks[i]);
    all += weight;
  }
  return sum / all;
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
