import { type ChainResult, ChainRoom, type ChainScores, decodeChain } from './chain.ts';

/** A hypothesis about a whole chain, and what it adds to the scores of its states. */
export interface Hypothesis {
  /** Natural log of its prior probability. */
  readonly logPrior: number;
  readonly changes: readonly ScoreChange[];
}

/** What a hypothesis adds to the score of a state at a place. */
export interface ScoreChange {
  readonly place: number;
  readonly state: number;
  readonly nats: number;
}

/** Every combination of one hypothesis from each set, as a single hypothesis; without sets, the one that adds nothing. */
export function combine(sets: readonly (readonly Hypothesis[])[]): Hypothesis[] {
  const nothing: Hypothesis = { logPrior: 0, changes: [] };
  return sets.reduce<Hypothesis[]>(
    (all, set) =>
      all.flatMap((one) =>
        set.map((other) => ({
          logPrior: one.logPrior + other.logPrior,
          changes: [...one.changes, ...other.changes],
        })),
      ),
    [nothing],
  );
}

/**
 * Decodes a chain under hypotheses of which exactly one is true. Posteriors and total are averaged over them, each weighted by
 * how well it explains the chain; the path is that of the most likely one.
 */
export function decodeUnder(
  count: number,
  states: number,
  scores: ChainScores,
  hypotheses: readonly Hypothesis[],
): ChainResult {
  const room = new ChainRoom(count, states);
  const added = new Float64Array(count * states);
  const posterior = new Float64Array(count * states);
  let path: Int32Array | null = null;
  // Weights are relative to the most likely so far, and sums are kept running: all chains of an hour at once would take 50 MB.
  let top = Number.NEGATIVE_INFINITY;
  let total = 0;
  for (const { logPrior, changes } of hypotheses) {
    added.fill(0);
    for (const { place, state, nats } of changes) added[place * states + state] += nats;
    const observed = sumOf(scores.observed, added);
    const result = decodeChain(count, states, { observed, move: scores.move }, room);
    const logTotal = result.logTotal + logPrior;
    const kept = path === null ? 0 : logTotal > top ? Math.exp(top - logTotal) : 1;
    if (path === null || logTotal > top) {
      path = result.path;
      top = logTotal;
    }
    const weight = Math.exp(logTotal - top);
    total = total * kept + weight;
    mix(posterior, kept, result.posterior, weight);
  }
  for (let i = 0; i < posterior.length; i++) posterior[i] /= total;
  return { path: path ?? new Int32Array(count), posterior, logTotal: top + Math.log(total) };
}

function sumOf(a: Float64Array, b: Float64Array): Float64Array {
  const sum = new Float64Array(a.length);
  for (let i = 0; i < a.length; i++) sum[i] = a[i] + b[i];
  return sum;
}

function mix(into: Float64Array, share: number, other: Float64Array, weight: number): void {
  for (let i = 0; i < into.length; i++) into[i] = into[i] * share + weight * other[i];
}
