import fc from 'fast-check';
import FFT from 'fft.js';
import { describe, expect, it } from 'vitest';
import { LANES } from '../../../src/analysis/pitch/quad-transform.ts';
import { SpectrumQuad } from '../../../src/analysis/pitch/spectrum.ts';
import { phaseAdvance, SpectrumLine } from '../../../src/analysis/pitch/spectrum-line.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { Kernel } from '../../../src/kernel.ts';
import { noise } from '../tones.ts';

const RATE = 22050;
/** 1024 samples: the window is then as long as the transform. */
const WINDOW_SEC = 1024 / RATE;
const BIN_HZ = RATE / 1024;

const sine = (hz: number, sec: number, amplitude = 1, phase = 0): Float32Array =>
  Float32Array.from(
    { length: Math.round(sec * RATE) },
    (_, n) => amplitude * Math.sin((2 * Math.PI * hz * n) / RATE + phase),
  );

/** Window and transform as their definitions say, one bin. */
function directMagnitude(
  data: Float32Array,
  start: number,
  length: number,
  size: number,
  bin: number,
): number {
  let re = 0;
  let im = 0;
  let windowSum = 0;
  for (let i = 0; i < length; i++) {
    const hann = 0.5 - 0.5 * Math.cos((2 * Math.PI * (i + 0.5)) / length);
    windowSum += hann;
    const angle = (2 * Math.PI * bin * i) / size;
    const value = (data[start + i] ?? 0) * hann;
    re += value * Math.cos(angle);
    im -= value * Math.sin(angle);
  }
  // A sine of amplitude 1 puts half of the window's sum into its bin.
  return Math.hypot(re, im) / (windowSum / 2);
}

const quadOf = (data: Float32Array, windowSec = WINDOW_SEC): SpectrumQuad =>
  new SpectrumQuad(new Kernel(2 ** 20), Samples.from(data, RATE), windowSec);

/** Magnitudes of the four stretches centred on these times. */
function magnitudes(quad: SpectrumQuad, secs: readonly [number, number, number, number]): number[][] {
  quad.transform(...secs);
  quad.fourier.fillPower(1, quad.fourier.bins);
  return Array.from({ length: LANES }, (_, lane) =>
    Array.from({ length: quad.fourier.bins }, (__, k) => Math.sqrt(quad.fourier.power[LANES * k + lane])),
  );
}

describe('magnitude', () => {
  it('bins are spaced by the rate over the next power of two', () => {
    const silence = new Float32Array(100);
    expect(quadOf(silence).binHz).toBeCloseTo(BIN_HZ, 9);
    expect(quadOf(silence, 0.0464 * 1.2).binHz).toBeCloseTo(BIN_HZ / 2, 9);
  });

  it.each([3, 20, 137, 400])(
    'a full-scale sine in the middle of bin %d reads 1 there and 1/2 in the next bin',
    (bin) => {
      const quad = quadOf(sine(bin * BIN_HZ, 0.3));
      for (const magnitude of magnitudes(quad, [0.1, 0.2, 0.15, 0.05])) {
        expect(magnitude[bin]).toBeCloseTo(1, 4);
        // The Hann window's transform: neighbours at half, nothing beyond (Harris, Proc. IEEE 66(1), 51-83, 1978).
        expect(magnitude[bin + 1]).toBeCloseTo(0.5, 4);
        expect(magnitude[bin - 1]).toBeCloseTo(0.5, 4);
        expect(magnitude[bin + 3]).toBeLessThan(1e-3);
      }
    },
  );

  it('halfway between bins it reads 0.849: 8/(3π), the scalloping loss of the Hann window (1.42 dB)', () => {
    const [magnitude] = magnitudes(quadOf(sine(100.5 * BIN_HZ, 0.3)), [0.1, 0.2, 0.1, 0.2]);
    expect(magnitude[100]).toBeCloseTo(8 / (3 * Math.PI), 3);
    expect(magnitude[101]).toBeCloseTo(8 / (3 * Math.PI), 3);
  });

  it('agrees with its definition as a sum, with a window shorter than the transform, up to the ends of the take', () => {
    const data = noise(0.2, 4000);
    const quad = quadOf(data, 700 / RATE);
    const centres = [1000, 2500, 100, 3950] as const;
    const found = magnitudes(quad, [1000 / RATE, 2500 / RATE, 100 / RATE, 3950 / RATE]);
    for (const [lane, centre] of centres.entries()) {
      for (const bin of [1, 2, 17, 256, 511]) {
        expect(found[lane][bin]).toBeCloseTo(directMagnitude(data, centre - 350, 700, 1024, bin), 4);
      }
    }
  });

  it('agrees with fft.js at all sizes and places, including lengths that are not multiples of 4', () => {
    const data = noise(0.5, 30_000);
    fc.assert(
      fc.property(
        fc.integer({ min: 6, max: 2048 }),
        fc.tuple(...Array.from({ length: 4 }, () => fc.integer({ min: -500, max: 30_500 }))),
        (half, starts) => {
          const length = 2 * half;
          const samples = Samples.from(data, RATE);
          const quad = new SpectrumQuad(new Kernel(2 ** 21), samples, length / RATE);
          quad.transformFrom(...(starts as [number, number, number, number]));
          quad.fourier.fillPower(1, quad.fourier.bins);
          const fft = new FFT(2 * quad.fourier.bins);
          const stretch = new Float32Array(length);
          for (const [lane, start] of starts.entries()) {
            samples.read(start, stretch);
            const input = fft.createComplexArray().fill(0);
            for (let i = 0; i < length; i++) {
              input[2 * i] = ((2 * stretch[i]) / length) * (1 - Math.cos((2 * Math.PI * (i + 0.5)) / length));
            }
            const output = fft.createComplexArray();
            fft.transform(output, input);
            for (let k = 1; k < quad.fourier.bins; k++) {
              const expected = Math.hypot(output[2 * k], output[2 * k + 1]);
              // Single precision: 2^-24 for each of about ten stages, of the strongest bin.
              if (Math.abs(Math.sqrt(quad.fourier.power[LANES * k + lane]) - expected) > 1e-6) return false;
            }
          }
          return true;
        },
      ),
      { numRuns: 40 },
    );
  });
});

describe('four stretches in one transform', () => {
  it('do not leak into each other', () => {
    const data = new Float32Array(RATE);
    data.set(sine(50 * BIN_HZ, 0.4), 0);
    data.set(sine(300 * BIN_HZ, 0.4), Math.round(0.5 * RATE));
    const [a, b, c, d] = magnitudes(quadOf(data), [0.2, 0.7, 0.75, 0.25]);
    for (const low of [a, d]) {
      expect(low[50]).toBeCloseTo(1, 3);
      expect(low[300]).toBeLessThan(1e-4);
    }
    for (const high of [b, c]) {
      expect(high[50]).toBeLessThan(1e-4);
      expect(high[300]).toBeGreaterThan(0.99);
    }
  });

  it('silence next to sound stays silence', () => {
    const data = new Float32Array(RATE);
    data.set(noise(0.5, RATE / 2), 0);
    const [sound, silence] = magnitudes(quadOf(data), [0.2, 0.8, 0.2, 0.8]);
    expect(Math.max(...silence)).toBe(0);
    expect(Math.max(...sound)).toBeGreaterThan(0.01);
  });
});

describe('stretches in a line', () => {
  const STEP_SEC = 0.01;
  const wrapped = (angle: number): number => angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));

  it.each([100, 261.63, 443.7, 1046.5, 3000.25, 9000])(
    'the phase of %d Hz turns by 2π·f·t between the stretches',
    (hz) => {
      const samples = Samples.from(sine(hz, 0.5, 0.5, 0.7), RATE);
      const line = new SpectrumLine(samples, WINDOW_SEC, STEP_SEC, 6000);
      for (let i = 0; i < 12; i++) {
        const first = line.at(0.15 + i * STEP_SEC);
        const second = line.at(0.15 + (i + 1) * STEP_SEC, first);
        const advance = phaseAdvance(first, second, Math.round(hz / BIN_HZ));
        const turned = (2 * Math.PI * hz * (second.start - first.start)) / RATE;
        // 0.005 rad over 10 ms is 0.08 Hz; the negative frequencies' leakage is what is left at 100 Hz.
        expect(Math.abs(wrapped(advance - turned))).toBeLessThan(hz > 200 ? 1e-3 : 0.02);
      }
    },
  );

  it('are the same in any order of access', () => {
    const samples = Samples.from(noise(0.3, RATE), RATE);
    const kept = new SpectrumLine(samples, WINDOW_SEC, STEP_SEC, 6000);
    const numbers = (line: SpectrumLine, sec: number): number[] => {
      const { power, lane, start, total } = line.at(sec);
      return [start, total, power[LANES * 40 + lane], power[LANES * 300 + lane]];
    };
    const time = fc.integer({ min: 0, max: 99 }).map((step) => step * STEP_SEC);
    fc.assert(
      fc.property(fc.array(time, { minLength: 1, maxLength: 8 }), (times) => {
        for (const sec of times) {
          expect(numbers(kept, sec)).toEqual(
            numbers(new SpectrumLine(samples, WINDOW_SEC, STEP_SEC, 6000), sec),
          );
        }
      }),
      { numRuns: 20 },
    );
  });

  it('the previous one stays valid when the next is read, wherever they are', () => {
    const samples = Samples.from(noise(0.3, RATE), RATE);
    const line = new SpectrumLine(samples, WINDOW_SEC, STEP_SEC, 6000);
    const time = fc.integer({ min: 0, max: 99 }).map((step) => step * STEP_SEC);
    fc.assert(
      fc.property(fc.array(fc.tuple(time, time), { minLength: 1, maxLength: 8 }), (pairs) => {
        for (const [sec, nextSec] of pairs) {
          const before = line.at(sec);
          const { start, total } = before;
          line.at(nextSec, before);
          expect([before.start, before.total]).toEqual([start, total]);
        }
      }),
    );
  });
});
