import { describe, expect, it } from 'vitest';
import { naturalFits } from '../../src/holes/steadiness.ts';
import { event } from '../tab/hand-made.ts';

const fitsOf = (...cents: number[]) => naturalFits(cents.map((each) => event(69 + each / 100)));

describe('a natural note by its steadiness', () => {
  it('is likelier the closer it is to its reed', () => {
    const score = fitsOf(0);
    expect(score(0, 0)).toBeGreaterThan(score(0, 8));
    expect(score(0, 8)).toBeGreaterThan(score(0, 25));
    expect(score(0, -8)).toBeCloseTo(score(0, 8), 12);
  });

  it('is likelier when the others of its pitch agree with it than when they scatter as bends do', () => {
    const agree = fitsOf(12, 11, 13, 12);
    const scatter = fitsOf(12, -25, 40, -9);
    expect(agree(0, 12)).toBeGreaterThan(fitsOf(12)(0, 12));
    expect(scatter(0, 12)).toBeLessThan(fitsOf(12)(0, 12));
  });

  it('may be of a reed that is far off, as in just tunings, if its notes agree', () => {
    const once = fitsOf(-31)(0, -31);
    const often = fitsOf(-31, -30, -32, -31)(0, -31);
    expect(often).toBeGreaterThan(once + 1);
  });

  it('of a reed further off than any harp is tuned costs the same however often it is heard', () => {
    const total = (cents: number, count: number): number => {
      const score = fitsOf(...new Array<number>(count).fill(cents));
      return Array.from({ length: count }, (_, t) => score(t, cents)).reduce((sum, one) => sum + one, 0);
    };
    const costs = [3, 12].map((count) => total(0, count) - total(80, count));
    expect(costs[0]).toBeGreaterThan(7);
    expect(costs[1]).toBeGreaterThan(costs[0]);
    expect(costs[1]).toBeLessThan(costs[0] + 3);
  });

  // Of a note alone the density is that of its reed's pitch and its own scatter; 1/√(2π) is left out, and 1 in 100 lies beyond.
  it('is a density over cents', () => {
    const score = fitsOf(0);
    let sum = 0;
    for (let cents = -90; cents <= 90; cents += 0.5) sum += 0.5 * Math.exp(score(0, cents));
    expect(sum / Math.sqrt(2 * Math.PI)).toBeCloseTo(1, 1);
    expect(sum / Math.sqrt(2 * Math.PI)).toBeLessThanOrEqual(1);
    expect(score(0, 97)).toBe(-Infinity);
  });
});
