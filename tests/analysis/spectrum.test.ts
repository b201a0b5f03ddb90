import { describe, expect, it } from 'vitest';
import { SpectrumPair } from '../../src/analysis/spectrum.ts';
import { Samples } from '../../src/audio/samples.ts';
import { noise } from './tones.ts';

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

describe('magnitude', () => {
  it('bins are the rate over the next power of two', () => {
    const samples = Samples.from(new Float32Array(100), RATE);
    expect(new SpectrumPair(samples, WINDOW_SEC).binHz).toBeCloseTo(BIN_HZ, 9);
    expect(new SpectrumPair(samples, 0.0464 * 1.2).binHz).toBeCloseTo(BIN_HZ / 2, 9);
  });

  it.each([3, 20, 137, 400])(
    'a full-scale sine in the middle of bin %d reads 1 there, 1/2 beside it',
    (bin) => {
      const pair = new SpectrumPair(Samples.from(sine(bin * BIN_HZ, 0.3), RATE), WINDOW_SEC);
      pair.measure(0.1, 0.2);
      for (const magnitude of [pair.first, pair.second]) {
        expect(magnitude[bin]).toBeCloseTo(1, 4);
        // The Hann window's transform: neighbours at half, nothing beyond (Harris, Proc. IEEE 66(1), 51-83, 1978).
        expect(magnitude[bin + 1]).toBeCloseTo(0.5, 4);
        expect(magnitude[bin - 1]).toBeCloseTo(0.5, 4);
        expect(magnitude[bin + 3]).toBeLessThan(1e-3);
      }
    },
  );

  it('half-way between bins it reads 0.849: 8/(3π), the scalloping loss of the Hann window (1.42 dB)', () => {
    const pair = new SpectrumPair(Samples.from(sine(100.5 * BIN_HZ, 0.3), RATE), WINDOW_SEC);
    pair.measure(0.1, 0.2);
    expect(pair.first[100]).toBeCloseTo(8 / (3 * Math.PI), 3);
    expect(pair.first[101]).toBeCloseTo(8 / (3 * Math.PI), 3);
  });

  it('agrees with the sum that defines it, for a window shorter than the transform, to the ends of the take', () => {
    const data = noise(0.2, 4000);
    const windowSec = 700 / RATE;
    const pair = new SpectrumPair(Samples.from(data, RATE), windowSec);
    for (const [firstSample, secondSample] of [
      [1000, 2500],
      [100, 3950],
    ]) {
      pair.measure(firstSample / RATE, secondSample / RATE);
      for (const bin of [1, 2, 17, 256, 511]) {
        expect(pair.first[bin]).toBeCloseTo(directMagnitude(data, firstSample - 350, 700, 1024, bin), 4);
        expect(pair.second[bin]).toBeCloseTo(directMagnitude(data, secondSample - 350, 700, 1024, bin), 4);
      }
    }
  });
});

describe('two stretches in one transform', () => {
  it('do not leak into each other', () => {
    const data = new Float32Array(RATE);
    data.set(sine(50 * BIN_HZ, 0.4), 0);
    data.set(sine(300 * BIN_HZ, 0.4), Math.round(0.5 * RATE));
    const pair = new SpectrumPair(Samples.from(data, RATE), WINDOW_SEC);
    pair.measure(0.2, 0.7);
    expect(pair.first[50]).toBeCloseTo(1, 3);
    expect(pair.first[300]).toBeLessThan(1e-4);
    expect(pair.second[50]).toBeLessThan(1e-4);
    expect(pair.second[300]).toBeGreaterThan(0.99);
  });

  it('silence beside sound stays silence (to the 16 bits of the store)', () => {
    const data = new Float32Array(RATE);
    data.set(noise(0.5, RATE / 2), 0);
    const pair = new SpectrumPair(Samples.from(data, RATE), WINDOW_SEC);
    pair.measure(0.2, 0.8);
    expect(Math.max(...pair.second)).toBeLessThan(1e-9);
    expect(Math.max(...pair.first)).toBeGreaterThan(0.01);
  });
});

describe('phase', () => {
  const wrapped = (angle: number): number => angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));

  it.each([100, 261.63, 443.7, 1046.5, 3000.25, 9000])(
    '%d Hz turns by 2π·f·t between the stretches',
    (hz) => {
      const pair = new SpectrumPair(Samples.from(sine(hz, 0.5, 0.5, 0.7), RATE), WINDOW_SEC);
      const step = 221; // samples
      pair.measure(4000 / RATE, (4000 + step) / RATE);
      const advance = pair.phaseAdvance(Math.round(hz / BIN_HZ));
      // 0.005 rad over 10 ms is 0.08 Hz; the negative frequencies' leakage is what is left at 100 Hz.
      expect(Math.abs(wrapped(advance - (2 * Math.PI * hz * step) / RATE))).toBeLessThan(
        hz > 200 ? 1e-3 : 0.02,
      );
    },
  );
});
