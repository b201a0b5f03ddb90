import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type ChainScores, decodeChain } from '../../src/decode/chain.ts';
import { viterbi } from '../../src/decode/viterbi.ts';

/** Scores by place: `move[t][i][j]` leads into place t; `move[0]` is never looked at. */
interface Tables {
  readonly observed: readonly (readonly number[])[];
  readonly move: readonly (readonly (readonly number[])[])[];
}

const scoresOf = ({ observed, move }: Tables): ChainScores => ({
  observed: Float64Array.from(observed.flat()),
  move: (t, i, j) => move[t][i][j],
});

function* allPaths(states: number, count: number): Generator<number[]> {
  for (let code = 0; code < states ** count; code++) {
    yield Array.from({ length: count }, (_, t) => Math.floor(code / states ** t) % states);
  }
}

function scoreOf({ observed, move }: Tables, path: readonly number[]): number {
  return path.reduce((sum, s, t) => sum + observed[t][s] + (t > 0 ? move[t][path[t - 1]][s] : 0), 0);
}

/** Total and marginal probabilities by summing over every path. */
function bruteForce(tables: Tables): { best: number; total: number; marginal: number[] } {
  const states = tables.observed[0].length;
  const count = tables.observed.length;
  const marginal = new Array<number>(count * states).fill(0);
  let best = -Infinity;
  let total = 0;
  for (const path of allPaths(states, count)) {
    const score = scoreOf(tables, path);
    best = Math.max(best, score);
    const weight = Math.exp(score);
    total += weight;
    path.forEach((s, t) => {
      marginal[t * states + s] += weight;
    });
  }
  return { best, total, marginal: marginal.map((weight) => weight / total) };
}

const problem = fc
  .record({ states: fc.integer({ min: 1, max: 4 }), count: fc.integer({ min: 1, max: 5 }) })
  .chain(({ states, count }) => {
    const score = fc.oneof(
      { weight: 6, arbitrary: fc.integer({ min: -24, max: 0 }).map((x) => x / 4) },
      { weight: 1, arbitrary: fc.constant(-Infinity) },
    );
    const row = fc.array(score, { minLength: states, maxLength: states });
    const table = fc.array(row, { minLength: states, maxLength: states });
    return fc.record({
      observed: fc.array(row, { minLength: count, maxLength: count }),
      move: fc.array(table, { minLength: count, maxLength: count }),
    });
  });

describe('with moves that differ from place to place, agrees with enumerating all paths', () => {
  it('the path is the best, the posteriors are the marginals, the total is the sum', () => {
    let open = 0;
    fc.assert(
      fc.property(problem, (tables) => {
        const count = tables.observed.length;
        const states = tables.observed[0].length;
        const exact = bruteForce(tables);
        fc.pre(exact.best > -Infinity);
        open++;
        const { path, posterior, logTotal } = decodeChain(count, states, scoresOf(tables));
        expect(scoreOf(tables, [...path])).toBeCloseTo(exact.best, 10);
        expect(logTotal).toBeCloseTo(Math.log(exact.total), 10);
        exact.marginal.forEach((probability, at) => {
          expect(posterior[at]).toBeCloseTo(probability, 10);
        });
        for (let t = 0; t < count; t++) {
          let row = 0;
          for (let s = 0; s < states; s++) row += posterior[t * states + s];
          expect(row).toBeCloseTo(1, 12);
        }
      }),
      { numRuns: 300 },
    );
    expect(open).toBeGreaterThan(50);
  });

  it('a move that is open at only one place is taken there', () => {
    const stay = [
      [0, -Infinity],
      [-Infinity, 0],
    ];
    const open = [
      [-5, -1],
      [-5, -5],
    ];
    const tables: Tables = {
      observed: [
        [0, -9],
        [0, 0],
        [0, 0],
        [-9, 0],
      ],
      move: [stay, stay, open, stay],
    };
    expect([...decodeChain(4, 2, scoresOf(tables)).path]).toEqual([0, 0, 1, 1]);
  });
});

describe('the worked example of https://en.wikipedia.org/wiki/Viterbi_algorithm', () => {
  const emit = [
    [0.5, 0.1],
    [0.4, 0.3],
    [0.1, 0.6],
  ];
  const move = [
    [0.7, 0.3],
    [0.4, 0.6],
  ];
  const scores: ChainScores = {
    observed: Float64Array.from(
      emit.flatMap((row, t) => row.map((share, s) => Math.log(share * (t === 0 ? [0.6, 0.4][s] : 1)))),
    ),
    move: (_, i, j) => Math.log(move[i][j]),
  };

  it('gives the published path, and the probability of the observations', () => {
    const { path, logTotal } = decodeChain(3, 2, scores);
    expect([...path]).toEqual([0, 0, 1]);
    // Forward algorithm by hand: (0.3, 0.04) → (0.0904, 0.0342) → (0.007696, 0.028584), sum 0.03628.
    expect(Math.exp(logTotal)).toBeCloseTo(0.03628, 12);
  });
});

describe('long chains', () => {
  it('neither overflow nor underflow: 2000 places of 300 nats each', () => {
    const { posterior, logTotal } = decodeChain(2000, 2, {
      observed: Float64Array.from({ length: 4000 }, (_, at) => {
        const [t, s] = [at >> 1, at % 2];
        return -300 - (s === t % 2 ? 0 : 1);
      }),
      move: () => 0,
    });
    // With free moves the places are independent: 1 / (1 + 1/e) for the better state.
    expect(posterior[2 * 1000]).toBeCloseTo(1 / (1 + Math.exp(-1)), 9);
    expect(logTotal / 2000).toBeCloseTo(-300 + Math.log(1 + Math.exp(-1)), 9);
  });

  it('agrees with the decoder for frames where moves are the same everywhere', () => {
    const number = fc.integer({ min: -30, max: 0 });
    const row = fc.array(number, { minLength: 3, maxLength: 3 });
    fc.assert(
      fc.property(
        fc.array(row, { minLength: 1, maxLength: 40 }),
        fc.array(row, { minLength: 3, maxLength: 3 }),
        (observed, move) => {
          const tables = { observed, move: observed.map(() => move) };
          const chain = decodeChain(observed.length, 3, scoresOf(tables)).path;
          const lattice = {
            arcs: [0, 1, 2].map((to) => [0, 1, 2].map((from) => ({ from, score: move[from][to] }))),
            start: new Float64Array(3),
          };
          const frames = viterbi(observed.length, lattice, (t, scores) => scores.set(observed[t])).path;
          expect(scoreOf(tables, [...chain])).toBe(scoreOf(tables, [...frames]));
        },
      ),
    );
  });
});

describe('edges', () => {
  it('an empty chain has an empty path and score 0', () => {
    const asked = (): never => {
      throw new Error('asked about a place that is not there');
    };
    const result = decodeChain(0, 3, { observed: new Float64Array(), move: asked });
    expect(result.path).toHaveLength(0);
    expect(result.posterior).toHaveLength(0);
    expect(result.logTotal).toBe(0);
  });

  it('equal states share the probability, and the first is chosen', () => {
    const { path, posterior } = decodeChain(3, 4, {
      observed: new Float64Array(12).fill(-2),
      move: () => -1,
    });
    expect([...path]).toEqual([0, 0, 0]);
    for (const probability of posterior) expect(probability).toBeCloseTo(0.25, 12);
  });
});
