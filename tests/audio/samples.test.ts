import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Samples } from '../../src/audio/samples.ts';
import { Kernel } from '../../src/kernel.ts';

const BLOCK = 4096;

describe('Samples', () => {
  it('returns what was stored within half a 16-bit step of the block peak, however it was cut', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 5000 }), { maxLength: 6 }),
        fc.double({ min: 1e-6, max: 1e5, noNaN: true }),
        fc.integer({ min: -300, max: 9000 }),
        (cuts, level, start) => {
          const samples = new Samples(24_000);
          const length = cuts.reduce((sum, cut) => sum + cut, 0);
          const input = Float32Array.from({ length }, (_, i) => level * Math.sin(i * 0.37 + i * i * 1e-5));
          let at = 0;
          for (const cut of cuts) {
            samples.append(input.subarray(at, at + cut));
            at += cut;
          }
          expect(samples.length).toBe(length);
          const out = new Float64Array(3000);
          samples.read(start, out);
          const peaks = Array.from({ length: Math.ceil(length / BLOCK) }, (_, block) =>
            input.subarray(block * BLOCK, (block + 1) * BLOCK).reduce((m, x) => Math.max(m, Math.abs(x)), 0),
          );
          for (let i = 0; i < out.length; i++) {
            const n = start + i;
            const peak = peaks[Math.floor(n / BLOCK)] ?? 0;
            const error = Math.abs(out[i] - (n >= 0 && n < length ? input[n] : 0));
            if (error > (peak / 32767) * 0.5001) return false;
          }
          return true;
        },
      ),
      { numRuns: 60 },
    );
  });

  it('reads the same into a kernel, to single precision, and writes nowhere else', () => {
    const samples = Samples.from(
      Float32Array.from({ length: 9500 }, (_, i) => Math.sin(i * 0.37) * (i < 5000 ? 1 : 1e-3)),
      24_000,
    );
    const MOST = 9000;
    fc.assert(
      fc.property(
        fc.integer({ min: -6000, max: 12_000 }),
        fc.integer({ min: 0, max: MOST }),
        (start, count) => {
          const kernel = new Kernel(2 ** 17);
          const before = kernel.keep([7, 7, 7, 7]);
          const at = kernel.reserve(MOST + 8);
          samples.readTo(start, count, kernel, at);
          const expected = new Float32Array(count);
          samples.read(start, expected);
          let worst = 0;
          for (let i = 0; i < count; i++) {
            worst = Math.max(worst, Math.abs(kernel.floats[at / 4 + i] - expected[i]));
          }
          expect(worst).toBeLessThan(1e-7);
          expect([...kernel.floats.subarray(before / 4, before / 4 + 4)]).toEqual([7, 7, 7, 7]);
          expect(kernel.floats.subarray(at / 4 + count + 7, at / 4 + MOST + 8).every((x) => x === 0)).toBe(
            true,
          );
        },
      ),
      { numRuns: 60 },
    );
  });

  it('returns the mean square of any stretch, with silence outside the recording', () => {
    const samples = Samples.from(
      Float32Array.from({ length: 9500 }, (_, i) => Math.sin(i * 0.37) * (i < 5000 ? 1 : 1e-3)),
      24_000,
    );
    fc.assert(
      fc.property(
        fc.integer({ min: -6000, max: 12_000 }),
        fc.integer({ min: 1, max: 9000 }),
        (start, count) => {
          const stretch = new Float64Array(count);
          samples.read(start, stretch);
          const expected = stretch.reduce((sum, x) => sum + x * x, 0) / count;
          expect(Math.abs(samples.meanSquare(start, count) - expected)).toBeLessThanOrEqual(1e-12 * expected);
        },
      ),
    );
  });

  it('knows its duration', () => {
    expect(Samples.from(new Float32Array(12_000), 24_000).durationSec).toBe(0.5);
  });
});
