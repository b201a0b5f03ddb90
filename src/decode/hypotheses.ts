import { type ChainResult, ChainRoom, type ChainScores, decodeChain } from './chain.ts';

/** Something that may be so, and what it adds to the scores of a chain's states. */
export interface Hypothesis {
  /** Natural log of its probability before the chain is looked at. */
  readonly logPrior: number;
  /** Added to the score of state s at place t; 0 for most. */
  readonly add: (t: number, s: number) => number;
}

/** Every way to choose one hypothesis of each set, as one hypothesis; of no sets, that nothing is special. */
export function combine(sets: readonly (readonly Hypothesis[])[]): Hypothesis[] {
  const nothing: Hypothesis = { logPrior: 0, add: () => 0 };
  return sets.reduce<Hypothesis[]>(
    (all, set) =>
      all.flatMap((one) =>
        set.map((other) => ({
          logPrior: one.logPrior + other.logPrior,
          add: (t: number, s: number): number => one.add(t, s) + other.add(t, s),
        })),
      ),
    [nothing],
  );
}

/**
 * Decodes a chain under hypotheses of which one is true: posteriors and total are summed over them, each by how well
 * it explains the chain; the path is that of the likeliest.
 */
export function decodeUnder(
  count: number,
  states: number,
  scores: ChainScores,
  hypotheses: readonly Hypothesis[],
): ChainResult {
  const room = new ChainRoom(count, states);
  const posterior = new Float64Array(count * states);
  let path: Int32Array | null = null;
  // All weights so far are against the likeliest so far: an hour's chains side by side would take 50 MB.
  let top = Number.NEGATIVE_INFINITY;
  let total = 0;
  for (const { logPrior, add } of hypotheses) {
    const observe = (t: number, s: number): number => scores.observe(t, s) + add(t, s);
    const result = decodeChain(count, states, { observe, move: scores.move }, room);
    const logTotal = result.logTotal + logPrior;
    const kept = path === null ? 0 : logTotal > top ? Math.exp(top - logTotal) : 1;
    if (path === null || logTotal > top) {
      path = result.path;
      top = logTotal;
    }
    const weight = Math.exp(logTotal - top);
    total = total * kept + weight;
    for (let i = 0; i < posterior.length; i++)
      posterior[i] = posterior[i] * kept + weight * result.posterior[i];
  }
  for (let i = 0; i < posterior.length; i++) posterior[i] /= total;
  return { path: path ?? new Int32Array(count), posterior, logTotal: top + Math.log(total) };
}
