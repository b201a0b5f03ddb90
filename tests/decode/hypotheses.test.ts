import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type ChainScores, decodeChain } from '../../src/decode/chain.ts';
import { decodeUnder, type Hypothesis } from '../../src/decode/hypotheses.ts';

const STATES = 3;
const score = fc.double({ min: -4, max: 4, noNaN: true });
const tables = (count: number, width: number): fc.Arbitrary<number[][]> =>
  fc.array(fc.array(score, { minLength: width, maxLength: width }), { minLength: count, maxLength: count });

const chain = fc.integer({ min: 1, max: 5 }).chain((count) =>
  fc.record({
    count: fc.constant(count),
    observed: tables(count, STATES),
    moves: tables(STATES, STATES),
    added: fc.array(tables(count, STATES), { minLength: 1, maxLength: 3 }),
    priors: fc.array(score, { minLength: 3, maxLength: 3 }),
  }),
);

describe('decoding under hypotheses', () => {
  it('sums what each gives alone (the law of total probability)', () => {
    fc.assert(
      fc.property(chain, ({ count, observed, moves, added, priors }) => {
        const scores: ChainScores = {
          observed: Float64Array.from(observed.flat()),
          move: (_, i, j) => moves[i][j],
        };
        const hypotheses: Hypothesis[] = added.map((table, h) => ({
          logPrior: priors[h],
          changes: table.flatMap((row, place) => row.map((nats, state) => ({ place, state, nats }))),
        }));
        const alone = added.map((table, h) => {
          const sums = Float64Array.from(
            observed.flatMap((row, t) => row.map((one, s) => one + table[t][s])),
          );
          const result = decodeChain(count, STATES, { observed: sums, move: scores.move });
          return { ...result, weight: Math.exp(result.logTotal + priors[h]) };
        });
        const total = alone.reduce((sum, { weight }) => sum + weight, 0);
        const { posterior, logTotal, path } = decodeUnder(count, STATES, scores, hypotheses);
        expect(logTotal).toBeCloseTo(Math.log(total), 9);
        posterior.forEach((probability, i) => {
          const expected = alone.reduce((sum, one) => sum + (one.weight / total) * one.posterior[i], 0);
          expect(probability).toBeCloseTo(expected, 9);
        });
        const likeliest = alone.reduce((a, b) => (b.weight > a.weight ? b : a));
        expect(path).toEqual(likeliest.path);
      }),
    );
  });
});
