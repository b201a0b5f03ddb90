import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { median, orderStatistic, quantile } from '../src/statistics.ts';

/** Few values, so that equal ones occur, and some that are no numbers. */
const value = fc.oneof(
  fc.integer({ min: -5, max: 5 }),
  fc.double({ noDefaultInfinity: true, noNaN: true }),
  fc.constantFrom(Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY),
);
/** ECMA-262, TypedArray.prototype.sort: numerically, NaN last. */
const sorted = (values: readonly number[]): Float64Array => Float64Array.from(values).sort();

describe('quantile', () => {
  it('is the value at that share of the sorted values', () => {
    fc.assert(
      fc.property(
        fc.array(value, { maxLength: 200 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (values, share) => {
          const at = Math.min(values.length - 1, Math.floor(values.length * share));
          expect(quantile(values, share) + 0).toEqual((sorted(values)[at] ?? Number.NaN) + 0);
        },
      ),
    );
  });

  it('leaves the values unchanged', () => {
    const values = [3, 1, 2];
    quantile(values, 0.5);
    expect(values).toEqual([3, 1, 2]);
  });

  it('grows beyond its initial capacity, in any order', () => {
    const up = Float64Array.from({ length: 50_000 }, (_, i) => i);
    expect(quantile(up, 0.75)).toBe(37_500);
    expect(quantile(up.slice().reverse(), 0.75)).toBe(37_500);
    expect(quantile(new Float64Array(50_000).fill(4), 0.75)).toBe(4);
  });
});

describe('median', () => {
  it('is the middle value, or the mean of the two, of those that are numbers', () => {
    fc.assert(
      fc.property(fc.array(value, { maxLength: 60 }), (values) => {
        const order = sorted(values.filter((value) => !Number.isNaN(value)));
        const middle = order.length >> 1;
        const expected = order.length % 2 === 1 ? order[middle] : (order[middle - 1] + order[middle]) / 2;
        expect(median(values) + 0).toEqual(expected + 0);
      }),
    );
    expect(median([])).toBeNaN();
    expect(median([1, Number.NaN, 3])).toBe(2);
  });
});

describe('a place in order', () => {
  it('agrees with sorting for any order, and for many equal values', () => {
    const many = fc.oneof(
      fc.array(fc.integer({ min: 0, max: 3 }), { minLength: 1, maxLength: 300 }),
      fc.array(fc.double({ noNaN: true }), { minLength: 1, maxLength: 300 }),
      fc.integer({ min: 1, max: 300 }).map((length) => Array.from({ length }, (_, i) => i)),
    );
    fc.assert(
      fc.property(many, fc.nat(), (values, any) => {
        const place = any % values.length;
        expect(orderStatistic(values, place) + 0).toBe(sorted(values)[place] + 0);
      }),
    );
    expect(orderStatistic([1], 1)).toBeNaN();
    expect(orderStatistic([1], -1)).toBeNaN();
    expect(orderStatistic([Number.NaN, 2], 1)).toBeNaN();
  });
});
