import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Kernel } from '../src/kernel.ts';

const LANES = 4;

describe('compress', () => {
  it('is ln(1 + magnitude / reference), to single precision (Math.log1p)', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 1e6, noNaN: true }), { minLength: LANES, maxLength: LANES }),
        fc.double({ min: 0, max: 1e6, noNaN: true }),
        (magnitudes, inverse) => {
          const kernel = new Kernel(1024);
          const power = kernel.keep(magnitudes.map((magnitude) => magnitude ** 2));
          const out = kernel.reserve(LANES);
          kernel.code.compress(power, inverse, 0, 1, out);
          for (const [lane, magnitude] of magnitudes.entries()) {
            const expected = Math.log1p(magnitude * inverse);
            expect(Math.abs(kernel.floats[out / 4 + lane] - expected)).toBeLessThan(
              2e-7 * Math.max(1, expected),
            );
          }
        },
      ),
    );
  });
});

describe('peaks', () => {
  const COUNT = 40;
  const MOST = 8;
  /** Few values, so that equal neighbours and equal peaks occur. */
  const lane = fc.array(fc.integer({ min: 0, max: 12 }), { minLength: COUNT, maxLength: COUNT });

  it('are the strongest local maxima of each lane, as a plain search finds them, strongest first', () => {
    fc.assert(
      fc.property(fc.tuple(lane, lane, lane, lane), (lanes) => {
        const kernel = new Kernel(4096);
        const at = kernel.keep(lanes[0].flatMap((_, step) => lanes.map((values) => values[step])));
        const out = kernel.reserve(2 * MOST * LANES);
        kernel.code.peaks(at, COUNT, 2.5, MOST, out);
        for (const [l, values] of lanes.entries()) {
          const maxima: { strength: number; step: number }[] = [];
          for (let step = 1; step < COUNT - 1; step++) {
            const [left, here, right] = values.slice(step - 1, step + 2);
            if (here <= 2.5 || here < left || here <= right) continue;
            // Vertex of the parabola through three equidistant points.
            maxima.push({ strength: here, step: step + (0.5 * (left - right)) / (left - 2 * here + right) });
          }
          maxima.sort((a, b) => b.strength - a.strength || a.step - b.step);
          const found = out / 4 + 2 * MOST * l;
          for (let i = 0; i < MOST; i++) {
            expect(kernel.floats[found + i]).toBe(maxima[i]?.strength ?? 0);
            expect(kernel.floats[found + MOST + i]).toBeCloseTo(maxima[i]?.step ?? 0, 4);
          }
        }
      }),
    );
  });
});

describe('memory', () => {
  it('is allocated in order, aligned to vectors, zeroed, and never beyond its end', () => {
    const kernel = new Kernel(65_536);
    const first = kernel.keep([1, 2, 3]);
    const second = kernel.reserve(5);
    expect([first % 16, second % 16]).toEqual([0, 0]);
    expect([...kernel.floats.subarray(first / 4, first / 4 + 3)]).toEqual([1, 2, 3]);
    expect([...kernel.floats.subarray(second / 4, second / 4 + 5)]).toEqual([0, 0, 0, 0, 0]);
    expect(second).toBeGreaterThanOrEqual(first + 12);
    expect(() => kernel.reserve(65_536)).toThrow(RangeError);
  });

  it('is not shared', () => {
    const [a, b] = [new Kernel(1024), new Kernel(1024)];
    const at = a.keep([7]);
    expect(b.floats[at / 4]).toBe(0);
  });
});

describe('resample', () => {
  it('is exact for cubic polynomials, as interpolation through four points must be', () => {
    const COUNT = 32;
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 4, maxLength: 4 }),
        fc.double({ min: 1, max: 2, noNaN: true }),
        fc.double({ min: 0.8, max: 1.2, noNaN: true }),
        ([c0, c1, c2, c3], from, pace) => {
          const cubic = (i: number): number => {
            const t = (i - 20) / 20;
            return c0 + t * (c1 + t * (c2 + t * c3));
          };
          const kernel = new Kernel(4096);
          const signal = kernel.keep(Array.from({ length: 50 }, (_, i) => cubic(i)));
          const out = kernel.reserve(COUNT);
          kernel.code.resample(signal, from, pace, COUNT, out);
          for (let i = 0; i < COUNT; i++) {
            expect(Math.abs(kernel.floats[out / 4 + i] - cubic(from + i * pace))).toBeLessThan(1e-5);
          }
        },
      ),
    );
  });
});

describe('highest, countAbove and gatherAbove', () => {
  /** Exact in single precision, and few, so that values equal to the level occur. */
  const values = fc
    .array(fc.integer({ min: -8, max: 8 }), { minLength: 1, maxLength: 15 })
    .map((fours) => fours.flatMap((value) => [value, -value, value / 2, 0]));

  it('agree with plain loops on the values times the sign', () => {
    fc.assert(
      fc.property(values, fc.constantFrom(1, -1), fc.integer({ min: -8, max: 8 }), (given, sign, level) => {
        const kernel = new Kernel(4096);
        const at = kernel.keep(given);
        const out = kernel.reserve(given.length);
        const { code, floats } = kernel;
        const above = given.map((value) => sign * value).filter((value) => value > level);
        expect(code.highest(at, given.length, sign)).toBe(Math.max(0, ...given.map((value) => sign * value)));
        expect(code.countAbove(at, given.length, sign, level)).toBe(above.length);
        expect(code.gatherAbove(at, given.length, sign, level, out)).toBe(above.length);
        expect(floats.slice(out / 4, out / 4 + above.length)).toEqual(Float32Array.from(above));
      }),
    );
  });
});

describe('partLanes', () => {
  const COUNT = 20;
  const lane = fc.array(fc.float({ min: 0, max: 1, noNaN: true }), { minLength: COUNT, maxLength: COUNT });

  it('writes the lanes that are asked for apart, and their mean', () => {
    fc.assert(
      fc.property(fc.tuple(lane, lane, lane, lane), fc.integer({ min: 1, max: LANES }), (lanes, count) => {
        const kernel = new Kernel(4096);
        const at = kernel.keep(lanes[0].flatMap((_, k) => lanes.map((values) => values[k])));
        const out = kernel.newDoubles(LANES * COUNT);
        const mean = kernel.newDoubles(COUNT);
        kernel.code.partLanes(at, 1, COUNT - 1, count, out.byteOffset, 8 * COUNT, mean.byteOffset);
        for (let k = 1; k < COUNT - 1; k++) {
          let sum = 0;
          for (let l = 0; l < count; l++) {
            expect(out[l * COUNT + k]).toBe(lanes[l][k]);
            sum += lanes[l][k];
          }
          expect(mean[k]).toBe(sum / count);
        }
        for (const k of [0, COUNT - 1]) expect([out[k], mean[k]]).toEqual([0, 0]);
      }),
    );
  });
});
