import type { BarredPath } from './bars/bar-lines.ts';
import type { Reading } from './pulses.ts';

/** One way to write what was played, with the natural log of its probability. */
export interface BarredReading {
  readonly read: Reading;
  readonly barred: BarredPath;
  readonly score: number;
}

/** Ways less likely than the likeliest by this, in natural log, are ignored. */
const BEAM = 8;
/** At most this many ways may be chosen. */
const CHOICES = 20;
/**
 * Evidence for a way repeats itself from note to note, so taking all of it would promise too much. The natural log is scaled by
 * this before confidence is worked out: of 1, 0.7, 0.5, 0.4 and 0.3, on 404 heard takes of tunes left out of the fit (F1 0.86), 0.5 states 0.88 and 0.4 states 0.85.
 */
const SHARPNESS = 0.5;
/** Another way replaces the likeliest only if its expected F1 is higher by this. */
const CLEARLY_SAFER = 0.02;

/**
 * The way whose bar lines can be expected to be right most often. It need not be the likeliest: it is the one that agrees
 * most with all the others, each weighted by its probability (minimum Bayes risk).
 * @param ways  at least one
 * @returns the way, and the F1 that its notes on bar lines are expected to have, [0, 1]
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

/** Mean agreement of one way's downbeats with all ways, weighted. */
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
