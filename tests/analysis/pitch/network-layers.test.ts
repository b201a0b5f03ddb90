import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { keepLayer, ONE } from '../../../src/analysis/pitch/network-weights.ts';
import { Kernel } from '../../../src/kernel.ts';

const FRAMES = 24;
const STRIDE = 4 * FRAMES;

/** Rows of two channels each, as 16-bit integers. @returns their byte offsets */
function keepPairs(kernel: Kernel, channels: readonly (readonly number[])[]): number[] {
  const rows: number[] = [];
  for (let c = 0; c < channels.length; c += 2) {
    const at = kernel.reserve(FRAMES);
    for (let t = 0; t < FRAMES; t++) {
      kernel.shorts[at / 2 + 2 * t] = Math.round(ONE * channels[c][t]);
      kernel.shorts[at / 2 + 2 * t + 1] = Math.round(ONE * channels[c + 1][t]);
    }
    rows.push(at);
  }
  return rows;
}

function keepInputs(kernel: Kernel, rows: readonly number[]): number {
  const at = kernel.reserve(rows.length);
  kernel.words.set(rows, at / 4);
  return at;
}

const channel = (most: number) =>
  fc.array(fc.double({ min: -most, max: most, noNaN: true }), { minLength: FRAMES, maxLength: FRAMES });
const even = fc.integer({ min: 1, max: 40 }).map((half) => 2 * half);
/** A layer with inputs of a magnitude below 63: 64 is the limit of the integers. */
const drawn = fc
  .tuple(
    even,
    even.map((twice) => 2 * twice),
  )
  .chain(([inputs, outputs]) =>
    fc.record({
      weights: fc.array(fc.double({ min: -3, max: 3, noNaN: true }), {
        minLength: inputs * outputs,
        maxLength: inputs * outputs,
      }),
      bias: fc.array(fc.double({ min: -9, max: 9, noNaN: true }), { minLength: outputs, maxLength: outputs }),
      values: fc.array(channel(63), { minLength: inputs, maxLength: inputs }),
    }),
  );

describe('a dense layer', () => {
  it('is the weighted sum of its inputs, to the steps of 16-bit inputs and weights', () => {
    fc.assert(
      fc.property(drawn, ({ weights, bias, values }) => {
        const [inputs, outputs] = [values.length, bias.length];
        const kernel = new Kernel(4 * (inputs * outputs + (inputs + outputs) * (FRAMES + 8) + 512));
        const {
          pairs,
          scales,
          bias: biasAt,
          ...layer
        } = keepLayer(kernel, { weights, bias }, outputs, (i) => i);
        const inputsAt = keepInputs(kernel, keepPairs(kernel, values));
        const out = kernel.reserve(outputs * FRAMES);
        kernel.code.dense(
          inputsAt,
          pairs,
          layer.weights,
          scales,
          biasAt,
          outputs,
          FRAMES,
          out,
          0,
          STRIDE,
          1,
          0,
        );
        for (let c = 0; c < outputs; c++) {
          const row = weights.slice(c * inputs, (c + 1) * inputs);
          const size = row.reduce((sum, weight) => sum + Math.abs(weight), 0);
          for (let t = 0; t < FRAMES; t++) {
            const expected = row.reduce((sum, weight, i) => sum + weight * values[i][t], bias[c]);
            // Half a step of an input, and half a step of a weight: 65,000 steps make up all weights of an output.
            const tolerance = size * (0.5 / ONE) + (inputs * 64 * size) / 2 / 65_000 + 1e-4;
            expect(Math.abs(kernel.floats[out / 4 + c * FRAMES + t] - expected)).toBeLessThan(tolerance);
          }
        }
      }),
      { numRuns: 30 },
    );
  });

  it('does not overflow with the largest possible inputs', () => {
    const INPUTS = 80;
    const kernel = new Kernel(65_536);
    const ones = Array.from({ length: 4 * INPUTS }, () => 1);
    const layer = keepLayer(kernel, { weights: ones, bias: [0, 0, 0, 0] }, 4, (i) => i);
    const full = Array.from({ length: INPUTS }, () => Array.from({ length: FRAMES }, () => -64));
    const inputsAt = keepInputs(kernel, keepPairs(kernel, full));
    const out = kernel.reserve(4 * FRAMES);
    const { pairs, weights, scales, bias } = layer;
    kernel.code.dense(inputsAt, pairs, weights, scales, bias, 4, FRAMES, out, 0, STRIDE, 1, 0);
    for (let c = 0; c < 4; c++) expect(kernel.floats[out / 4 + c * FRAMES]).toBeCloseTo(-64 * INPUTS, -1);
  });

  it('sets negative values to 0, adds existing values, and packs two outputs into a row', () => {
    const kernel = new Kernel(65_536);
    const layer = keepLayer(
      kernel,
      { weights: [1, 0, 0, 1, 0, 2, 1, 1], bias: [0.5, -2, 0, 1] },
      4,
      (i) => i,
    );
    const values = [-1, 1].map((x) => Array.from({ length: FRAMES }, () => x));
    const inputsAt = keepInputs(kernel, keepPairs(kernel, values));
    const added = kernel.keep(
      Array.from({ length: 4 * FRAMES }, (_, i) => (i % FRAMES) + 10 * Math.floor(i / FRAMES)),
    );
    const out = kernel.reserve(2 * FRAMES);
    const { pairs, weights, scales, bias } = layer;
    kernel.code.dense(inputsAt, pairs, weights, scales, bias, 4, FRAMES, out, added, STRIDE, 0, 1);
    const frame = (t: number) =>
      [0, FRAMES].flatMap((row) => [
        ...kernel.shorts.subarray(out / 2 + 2 * (row + t), out / 2 + 2 * (row + t) + 2),
      ]);
    // The sums of the first two outputs are below 0; those of the others are 2 and 1.
    expect(frame(0)).toEqual([0, 10 * ONE, 22 * ONE, 31 * ONE]);
    expect(frame(5)).toEqual([5 * ONE, 15 * ONE, 27 * ONE, 36 * ONE]);
    expect(frame(23)).toEqual([23 * ONE, 33 * ONE, 45 * ONE, 54 * ONE]);
  });

  it('refuses numbers of inputs and outputs that it would only work on in part', () => {
    const keep = (inputs: number, outputs: number) =>
      keepLayer(
        new Kernel(65_536),
        { weights: Array(4 * inputs).fill(1), bias: [0, 0, 0, 0] },
        outputs,
        (i) => i,
      );
    expect(() => keep(3, 4)).toThrow(RangeError);
    expect(() => keep(2, 6)).toThrow(RangeError);
    expect(() => keep(2, 4)).not.toThrow();
  });
});

describe('a layer along time', () => {
  it('filters each channel over nine frames', () => {
    const LONG = 48;
    const DILATION = 2;
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 18, maxLength: 18 }),
        fc.array(fc.double({ min: -7, max: 7, noNaN: true }), { minLength: 2 * LONG, maxLength: 2 * LONG }),
        (weights, values) => {
          const kernel = new Kernel(65_536);
          const weightsAt = kernel.keep(weights);
          const inputAt = kernel.keep(values);
          const out = kernel.reserve(LONG);
          const first = 4 * DILATION;
          kernel.code.depthwise(inputAt + 4 * first, 2, weightsAt, DILATION, 16, out, 4 * LONG);
          for (let t = 0; t < 16; t++) {
            for (const c of [0, 1]) {
              let expected = 0;
              for (let k = 0; k < 9; k++)
                expected += weights[9 * c + k] * values[LONG * c + first + t + (k - 4) * DILATION];
              expect(Math.abs(kernel.shorts[out / 2 + 2 * t + c] / ONE - expected)).toBeLessThan(0.51 / ONE);
            }
          }
        },
      ),
    );
  });
});
