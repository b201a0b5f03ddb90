import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type AlignCosts, align } from '../../src/decode/alignment.ts';
import { cheapestPlace, costsFrom } from '../../src/decode/place.ts';

/** Costs of letters along those of `b` from one on: equal ones pair for nothing. */
const spelling = (a: string, b: string, back: number, from = 0): AlignCosts => ({
  pair: (i, j) => (a[i] === b[from + j] ? 0 : 1.5),
  added: () => 1,
  missed: () => 1,
  back: () => back,
});

/** What it costs to lay a text along each stretch of another, by `align`. */
function stretches(a: string, b: string, back: number): { from: number; to: number; cost: number }[] {
  const all = [];
  for (let from = 0; from <= b.length; from++) {
    for (let to = from; to <= b.length; to++)
      all.push({ from, to, cost: align(a.length, to - from, spelling(a, b, back, from)).cost });
  }
  return all;
}

const word = (longest: number) =>
  fc.string({ unit: fc.constantFrom('a', 'b', 'c'), minLength: 1, maxLength: longest });

describe('the cheapest place', () => {
  it('is where the text occurs', () => {
    expect(cheapestPlace(3, 9, spelling('def', 'abcdefghi', 1))).toEqual({ from: 3, to: 6, cost: 0 });
  });

  it('includes the part that the sequence went back to', () => {
    expect(cheapestPlace(5, 9, spelling('efcde', 'abcdefghi', 0.5))).toEqual({ from: 2, to: 6, cost: 0.5 });
  });

  it('is the preferred one if several cost nearly the same', () => {
    const costs = spelling('abc', 'abcxabcxabd', 3);
    expect(cheapestPlace(3, 11, costs).from).toBe(0);
    expect(cheapestPlace(3, 11, costs, { near: 8, nearlyCost: 0 }).from).toBe(4);
    expect(cheapestPlace(3, 11, costs, { near: 11, nearlyCost: 1.5 }).from).toBe(8);
  });

  it('costs the same as the cheapest of all stretches if nothing goes back, and at most that otherwise', () =>
    fc.assert(
      fc.property(word(6), word(7), fc.constantFrom(0.4, 1, 100), (a, b, back) => {
        const least = Math.min(...stretches(a, b, back).map(({ cost }) => cost));
        const { cost } = cheapestPlace(a.length, b.length, spelling(a, b, back));
        if (back === 100) expect(cost).toBeCloseTo(least, 9);
        // It may begin later in the stretch than at its first element.
        else expect(cost).toBeLessThanOrEqual(least + 1e-9);
      }),
    ));

  it('never costs less than its lower bound', () =>
    fc.assert(
      fc.property(word(6), word(7), fc.constantFrom(0.4, 1, 5), (a, b, back) => {
        for (const { from, to, cost } of stretches(a, b, back)) {
          const ends = costsFrom(from, a.length, b.length, spelling(a, b, back));
          expect(ends[to]).toBeLessThanOrEqual(cost + 1e-9);
        }
      }),
    ));
});
