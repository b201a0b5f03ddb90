import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Decimator, decimationFactor } from '../../src/audio/decimate.ts';

function run(decimator: Decimator, input: Float32Array, cuts: number[] = []): Float32Array {
  const parts: Float32Array[] = [];
  let at = 0;
  for (const cut of cuts) {
    const to = Math.min(input.length, at + cut);
    parts.push(decimator.push(input.subarray(at, to)).slice());
    at = to;
  }
  parts.push(decimator.push(input.subarray(at)).slice(), decimator.flush().slice());
  return Float32Array.from(parts.flatMap((part) => [...part]));
}

/** Impulse response at the input's rate, put together from the outputs for impulses at all phases. */
function impulseResponse(factor: number): Float64Array {
  const length = 2048;
  const centre = 1024;
  const response = new Float64Array(length);
  for (let phase = 0; phase < factor; phase++) {
    const input = new Float32Array(length);
    input[centre + phase] = 1;
    const out = run(new Decimator(factor), input);
    // out[k] = h[k * factor - (centre + phase)]
    for (let k = 0; k < out.length; k++) {
      const lag = k * factor - centre - phase + length / 2;
      if (lag >= 0 && lag < length) response[lag] = out[k];
    }
  }
  return response;
}

function gainDb(response: Float64Array, cyclesPerSample: number): number {
  let re = 0;
  let im = 0;
  for (let n = 0; n < response.length; n++) {
    const angle = 2 * Math.PI * cyclesPerSample * (n - response.length / 2);
    re += response[n] * Math.cos(angle);
    im -= response[n] * Math.sin(angle);
  }
  return 20 * Math.log10(Math.hypot(re, im) + 1e-12);
}

describe('decimationFactor', () => {
  it.each([
    [8_000, 1],
    [16_000, 1],
    [22_050, 1],
    [31_999, 1],
    [32_000, 2],
    [44_100, 2],
    [48_000, 2],
    [88_200, 4],
    [96_000, 4],
    [192_000, 8],
  ])('brings %i Hz down by %i', (rate, factor) => expect(decimationFactor(rate)).toBe(factor));

  it('brings every higher rate to between 16 and 32 kHz', () => {
    fc.assert(
      fc.property(fc.integer({ min: 16_000, max: 768_000 }), (rate) => {
        const stored = rate / decimationFactor(rate);
        return stored >= 16_000 && stored < 32_000;
      }),
    );
  });
});

describe('Decimator', () => {
  // Property of the filter itself: the Fourier transform of its impulse response [calc]. A halving filter has one
  // response for all phases, so the cascade's stages are judged at factor 2 and, through tones, as a whole.
  it.each([2, 4, 8])('is flat to 0.42 of the output rate and 80 dB down from 0.58, factor %i', (factor) => {
    const response = impulseResponse(factor);
    for (let f = 0; f <= 0.42; f += 0.01) expect(Math.abs(gainDb(response, f / factor))).toBeLessThan(0.01);
    for (let f = 0.58; f <= factor / 2; f += 0.005) expect(gainDb(response, f / factor)).toBeLessThan(-80);
  });

  it.each([2, 4, 8])('has no delay and keeps the phase, factor %i', (factor) => {
    const cycles = 0.1 / factor;
    const input = Float32Array.from({ length: 8000 }, (_, i) => Math.sin(2 * Math.PI * cycles * i + 0.7));
    const out = run(new Decimator(factor), input);
    expect(out.length).toBe(8000 / factor);
    for (let k = 100; k < out.length - 100; k++) {
      expect(Math.abs(out[k] - Math.sin(2 * Math.PI * cycles * k * factor + 0.7))).toBeLessThan(1e-4);
    }
  });

  it('gives the same output however the input is cut, one sample for each group of inputs begun', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(1, 2, 4, 8),
        fc.integer({ min: 0, max: 700 }),
        fc.array(fc.integer({ min: 0, max: 90 }), { maxLength: 12 }),
        (factor, length, cuts) => {
          const input = Float32Array.from({ length }, (_, i) => Math.sin(i * i * 0.01));
          const whole = run(new Decimator(factor), input);
          const pieces = run(new Decimator(factor), input, cuts);
          expect(whole.length).toBe(Math.ceil(length / factor));
          expect(pieces.length).toBe(whole.length);
          for (let i = 0; i < whole.length; i++) expect(pieces[i]).toBeCloseTo(whole[i], 6);
        },
      ),
      { numRuns: 60 },
    );
  });

  it('refuses a factor that is not a power of two', () => {
    expect(() => new Decimator(3)).toThrow('power of two');
    expect(() => new Decimator(0)).toThrow('power of two');
  });
});
