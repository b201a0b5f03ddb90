import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Arc, type Lattice, viterbi } from '../../src/decode/viterbi.ts';

/** A lattice from a table of transition scores; -Infinity entries may stay as arcs or be left out. */
function dense(start: readonly number[], move: readonly (readonly number[])[], keepClosed = false): Lattice {
  const arcs: Arc[][] = start.map((_, to) =>
    start
      .map((_, from) => ({ from, score: move[from][to] }))
      .filter((a) => keepClosed || a.score > -Infinity),
  );
  return { arcs, start: Float64Array.from(start) };
}

const decode = (lattice: Lattice, observed: readonly (readonly number[])[]): number[] => [
  ...viterbi(observed.length, lattice, (t, scores) => scores.set(observed[t])).path,
];

function scoreOf(
  path: readonly number[],
  start: readonly number[],
  move: readonly (readonly number[])[],
  observed: readonly (readonly number[])[],
): number {
  let score = start[path[0]] + observed[0][path[0]];
  for (let t = 1; t < path.length; t++) score += move[path[t - 1]][path[t]] + observed[t][path[t]];
  return score;
}

function* allPaths(states: number, count: number): Generator<number[]> {
  for (let code = 0; code < states ** count; code++) {
    yield Array.from({ length: count }, (_, t) => Math.floor(code / states ** t) % states);
  }
}

/** The worked example of https://en.wikipedia.org/wiki/Viterbi_algorithm, also librosa's `test_viterbi_example`. */
const HEALTHY = 0;
const FEVER = 1;
const CLINIC = {
  start: [0.6, 0.4].map(Math.log),
  move: [
    [0.7, 0.3],
    [0.4, 0.6],
  ].map((row) => row.map(Math.log)),
  // normal, cold, dizzy, as a healthy and as a feverish villager feels
  observed: [
    [0.5, 0.1],
    [0.4, 0.3],
    [0.1, 0.6],
  ].map((row) => row.map(Math.log)),
};

describe('worked example', () => {
  it('healthy, healthy, fever, with probability 0.01512', () => {
    const { start, move, observed } = CLINIC;
    const path = decode(dense(start, move), observed);
    expect(path).toEqual([HEALTHY, HEALTHY, FEVER]);
    expect(scoreOf(path, start, move, observed)).toBeCloseTo(Math.log(0.01512), 12);
  });
});

describe('compared with every possible path', () => {
  // Whole-number scores, so that sums are exact and equal means equal.
  const score = fc.oneof(
    { weight: 4, arbitrary: fc.integer({ min: -20, max: 0 }) },
    { weight: 1, arbitrary: fc.constant(-Infinity) },
  );
  const problem = fc
    .record({ states: fc.integer({ min: 1, max: 4 }), count: fc.integer({ min: 1, max: 5 }) })
    .chain(({ states, count }) => {
      const row = fc.array(score, { minLength: states, maxLength: states });
      return fc.record({
        start: row,
        move: fc.array(row, { minLength: states, maxLength: states }),
        observed: fc.array(row, { minLength: count, maxLength: count }),
        keepClosed: fc.boolean(),
      });
    });

  it('no path scores higher, and none is returned if all are closed', () => {
    let open = 0;
    let closed = 0;
    fc.assert(
      fc.property(problem, ({ start, move, observed, keepClosed }) => {
        let best = -Infinity;
        for (const path of allPaths(start.length, observed.length)) {
          best = Math.max(best, scoreOf(path, start, move, observed));
        }
        const lattice = dense(start, move, keepClosed);
        if (best === -Infinity) {
          closed++;
          expect(() => decode(lattice, observed)).toThrow(RangeError);
        } else {
          open++;
          expect(scoreOf(decode(lattice, observed), start, move, observed)).toBe(best);
        }
      }),
      { numRuns: 400 },
    );
    expect(open).toBeGreaterThan(50);
    expect(closed).toBeGreaterThan(5);
  });

  it('adding the same score to every state of a frame changes nothing', () => {
    const { start, move, observed } = CLINIC;
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -500, max: 500 }), { minLength: 3, maxLength: 3 }), (more) => {
        const shifted = observed.map((row, t) => row.map((value) => value + more[t]));
        expect(decode(dense(start, move), shifted)).toEqual([HEALTHY, HEALTHY, FEVER]);
      }),
    );
  });
});

describe('a lattice in which every state may persist, which is decoded two states at a time', () => {
  const score = fc.integer({ min: -4, max: 0 });
  const problem = fc
    .record({ states: fc.integer({ min: 1, max: 20 }), count: fc.integer({ min: 1, max: 12 }) })
    .chain(({ states, count }) => {
      const state = fc.nat({ max: states - 1 });
      const row = fc.array(score, { minLength: states, maxLength: states });
      const rows = fc.array(row, { minLength: count, maxLength: count });
      const other = fc.option(fc.record({ from: state, score }), { nil: undefined });
      return fc.record({
        start: row,
        stay: row,
        others: fc.array(other, { minLength: states, maxLength: states }),
        hubFrom: fc.uniqueArray(state),
        hubTo: fc.uniqueArray(fc.record({ state, score }), { selector: (to) => to.state }),
        observed: rows,
        entered: rows,
      });
    });

  it('gives the same path and score as one with an arc more, which is decoded arc by arc', () => {
    let jumps = 0;
    let steps = 0;
    fc.assert(
      fc.property(problem, ({ start, stay, others, hubFrom, hubTo, observed, entered }) => {
        const arcs = start.map((_, s): Arc[] => {
          const other = others[s];
          return [{ from: s, score: stay[s] }, ...(other === undefined ? [] : [other])];
        });
        const lattice = {
          arcs,
          start: Float64Array.from(start),
          hub: { from: hubFrom.toSorted((a, b) => a - b), to: hubTo },
        };
        const closed = { from: 0, score: -Infinity };
        const oneMore = { ...lattice, arcs: arcs.map((into) => [...into, closed, closed].slice(0, 3)) };
        const decoded = [lattice, oneMore].map((each) =>
          viterbi(
            observed.length,
            each,
            (t, scores) => scores.set(observed[t]),
            (t, scores) => scores.set(entered[t]),
          ),
        );
        expect(decoded[0]).toEqual(decoded[1]);
        const { path } = decoded[0];
        for (let t = 1; t < path.length; t++) {
          if (path[t] === path[t - 1]) continue;
          if (others[path[t]]?.from === path[t - 1]) steps++;
          else jumps++;
        }
      }),
      { numRuns: 500 },
    );
    expect(jumps).toBeGreaterThan(100);
    expect(steps).toBeGreaterThan(100);
  });
});

describe('edges', () => {
  it('no frames give no path, and no score is asked for', () => {
    const ask = (): never => {
      throw new Error('asked for a frame that is not there');
    };
    expect(viterbi(0, dense([0], [[0]]), ask)).toEqual({ path: new Int32Array(0), score: 0 });
  });

  it('one frame gives the best sum of start and observation', () => {
    expect(
      decode(
        dense(
          [0, -1, -2],
          [[], [], []].map(() => [0, 0, 0]),
        ),
        [[-3, -1, -1]],
      ),
    ).toEqual([1]);
  });

  it('a state without incoming arcs is reached only at the start', () => {
    const closed = -Infinity;
    // 0 → 1 only; both may stay.
    const move = [
      [0, -1],
      [closed, 0],
    ];
    const observed = [
      [-9, 0],
      [0, -5],
      [0, -5],
    ];
    // To see 0 later, it must be there from the first frame on: -9 beats -10 for staying in 1.
    expect(decode(dense([0, 0], move), observed)).toEqual([0, 0, 0]);
  });

  it('no finite path throws a RangeError', () => {
    expect(() => decode(dense([-Infinity, -Infinity], CLINIC.move), CLINIC.observed)).toThrow(RangeError);
    expect(() => decode({ arcs: [[]], start: Float64Array.of(0) }, [[0], [0]])).toThrow(RangeError);
  });

  it('among equal paths, the arc listed first wins', () => {
    const into = (...froms: number[]): Arc[] => froms.map((from) => ({ from, score: 0 }));
    const start = Float64Array.of(0, 0, 0);
    const observed = [
      [0, 0, 0],
      [-1, -1, 0],
    ];
    expect(decode({ arcs: [[], [], into(1, 0)], start }, observed)).toEqual([1, 2]);
    expect(decode({ arcs: [[], [], into(0, 1)], start }, observed)).toEqual([0, 2]);
  });

  it('a state may have more arcs than a byte can count', () => {
    const states = 400;
    const move = Array.from({ length: states }, (_, from) =>
      Array.from({ length: states }, (_, to) => (from === 399 && to === 3 ? 0 : -10)),
    );
    const start = new Array<number>(states).fill(0);
    const observed = [new Array<number>(states).fill(0), new Array<number>(states).fill(0)];
    expect(decode(dense(start, move), observed)).toEqual([399, 3]);
  });
});
