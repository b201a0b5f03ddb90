import { type ChainResult, type ChainScores, decodeChain } from './chain.ts';

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
  const results = hypotheses.map(({ logPrior, add }) => {
    const observe = (t: number, s: number): number => scores.observe(t, s) + add(t, s);
    const result = decodeChain(count, states, { observe, move: scores.move });
    return { ...result, logTotal: result.logTotal + logPrior };
  });
  const best = results.reduce((a, b) => (b.logTotal > a.logTotal ? b : a));
  const weights = results.map(({ logTotal }) => Math.exp(logTotal - best.logTotal));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const posterior = new Float64Array(count * states);
  results.forEach((result, h) => {
    const share = weights[h] / total;
    for (let i = 0; i < posterior.length; i++) posterior[i] += share * result.posterior[i];
  });
  return { path: best.path, posterior, logTotal: best.logTotal + Math.log(total) };
}
