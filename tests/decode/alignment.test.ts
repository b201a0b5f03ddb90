import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type AlignCosts, align } from '../../src/decode/alignment.ts';

/** Costs of letters: equal ones pair for nothing. */
const spelling = (a: string, b: string, back?: number): AlignCosts => ({
  pair: (i, j) => (a[i] === b[j] ? 0 : 1.5),
  added: () => 1,
  missed: () => 1,
  ...(back === undefined ? {} : { back: () => back }),
});

const alignText = (a: string, b: string, back?: number) => align(a.length, b.length, spelling(a, b, back));

/** The cheapest of all alignments by trying them all, with memoisation. */
function bruteForce(a: string, b: string, costs: AlignCosts, mostBack: number): number {
  const known = new Map<string, number>();
  const go = (i: number, j: number, backs: number): number => {
    const key = `${i} ${j} ${backs}`;
    const rest = known.get(key) ?? cheapest(i, j, backs);
    known.set(key, rest);
    return rest;
  };
  const cheapest = (i: number, j: number, backs: number): number => {
    if (i === a.length && j === b.length) return 0;
    let best = Number.POSITIVE_INFINITY;
    if (i < a.length && j < b.length) best = Math.min(best, costs.pair(i, j) + go(i + 1, j + 1, backs));
    if (i < a.length) best = Math.min(best, costs.added(i) + go(i + 1, j, backs));
    if (j < b.length) best = Math.min(best, costs.missed(j) + go(i, j + 1, backs));
    if (costs.back && backs > 0 && i > 0 && i < a.length) {
      for (let to = 0; to < j; to++) best = Math.min(best, costs.back(to) + go(i, to, backs - 1));
    }
    return best;
  };
  return go(0, 0, mostBack);
}

const word = (longest: number) =>
  fc.string({ unit: fc.constantFrom('a', 'b', 'c'), minLength: 0, maxLength: longest });

describe('align', () => {
  it('two empty sequences', () => expect(align(0, 0, spelling('', ''))).toEqual({ steps: [], cost: 0 }));

  it('kitten and sitting: two letters changed, one missed (Levenshtein distance 3)', () => {
    const levenshtein: AlignCosts = {
      pair: (i, j) => ('kitten'[i] === 'sitting'[j] ? 0 : 1),
      added: () => 1,
      missed: () => 1,
    };
    const { cost, steps } = align(6, 7, levenshtein);
    expect(cost).toBe(3);
    expect(steps.filter(({ kind }) => kind === 'missed')).toHaveLength(1);
  });

  it('says where A goes back, and what came before', () => {
    const { steps, cost } = alignText('abcdcdef', 'abcdef', 0.5);
    expect(cost).toBe(0.5);
    expect(steps.filter(({ kind }) => kind === 'back')).toEqual([{ kind: 'back', fromB: 4, toB: 2 }]);
  });

  it('long sequences cost the same part by part as in one go', () => {
    // A tune of three thousand notes, played with slips and with phrases begun again.
    let state = 7;
    const draw = () => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state / 2 ** 32;
    };
    const b = Array.from({ length: 3000 }, () => 'abcdefghijkl'[Math.floor(12 * draw())]);
    const a: string[] = [];
    for (let i = 0; i < b.length; i++) {
      const slip = draw();
      if (slip < 0.02) continue;
      a.push(slip < 0.04 ? 'x' : b[i]);
      if (slip > 0.985) i = Math.max(0, i - Math.floor(20 * draw()));
    }
    const costs = spelling(a.join(''), b.join(''), 1.1);
    const whole = align(a.length, b.length, costs, Number.POSITIVE_INFINITY);
    const inParts = align(a.length, b.length, costs, 1_000_000);
    expect(inParts.cost).toBeCloseTo(whole.cost, 9);
    expect(inParts.steps.filter(({ kind }) => kind === 'pair' || kind === 'added')).toHaveLength(a.length);
    const last = inParts.steps.findLast(({ kind }) => kind === 'pair' || kind === 'missed');
    expect(last).toMatchObject({ b: b.length - 1 });
  });

  it('costs what the best of all ways costs', () => {
    fc.assert(
      fc.property(word(6), word(6), (a, b) => {
        const costs = spelling(a, b);
        expect(align(a.length, b.length, costs).cost).toBeCloseTo(bruteForce(a, b, costs, 0), 9);
      }),
      { numRuns: 200 },
    );
  });

  it('costs as little as the best of all alignments if it may go back', () => {
    fc.assert(
      fc.property(word(5), word(4), fc.constantFrom(0.4, 0.9, 1.6), (a, b, back) => {
        const costs = spelling(a, b, back);
        expect(align(a.length, b.length, costs).cost).toBeCloseTo(bruteForce(a, b, costs, 3), 9);
      }),
      { numRuns: 40 },
    );
  });

  it('goes through A once and in order and through all of B, and its steps add up to its cost', () => {
    fc.assert(
      fc.property(
        word(12),
        word(12),
        fc.option(fc.constantFrom(0.7, 1.3), { nil: undefined }),
        (a, b, back) => {
          const costs = spelling(a, b, back);
          const { steps, cost } = align(a.length, b.length, costs);
          let atB = 0;
          let sum = 0;
          const seenA: number[] = [];
          const seenB = new Set<number>();
          for (const step of steps) {
            if (step.kind === 'back') {
              expect(step.fromB).toBe(atB);
              expect(step.toB).toBeLessThan(atB);
              atB = step.toB;
              sum += costs.back!(step.toB);
            }
            if (step.kind === 'pair' || step.kind === 'missed') {
              expect(step.b).toBe(atB++);
              seenB.add(step.b);
            }
            if (step.kind === 'pair' || step.kind === 'added') seenA.push(step.a);
            if (step.kind === 'pair') sum += costs.pair(step.a, step.b);
            if (step.kind === 'added') sum += costs.added(step.a);
            if (step.kind === 'missed') sum += costs.missed(step.b);
          }
          expect(seenA).toEqual([...a].map((_, i) => i));
          expect(seenB.size).toBe(b.length);
          expect(sum).toBeCloseTo(cost, 9);
        },
      ),
    );
  });

  it('fails when nothing is allowed', () => {
    const forbidden: AlignCosts = { pair: () => Infinity, added: () => Infinity, missed: () => Infinity };
    expect(() => align(1, 1, forbidden)).toThrow(RangeError);
  });
});
