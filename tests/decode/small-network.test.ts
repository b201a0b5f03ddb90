import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { logOddsOf } from '../../src/decode/small-network.ts';

describe('a small network', () => {
  it('without hidden units is a weighted sum', () => {
    expect(logOddsOf({ bias: -1, direct: [2, 0.5], hidden: [] }, [3, 4])).toBe(7);
  });

  it('adds the outputs of hidden units', () => {
    const unit = { bias: 0.5, inputs: [1, -1], output: 3 };
    // [calc] -1 + 3 tanh(0.5 + 2 - 1), with tanh(x) = 1 - 2 / (e^2x + 1)
    const expected = -1 + 3 * (1 - 2 / (Math.exp(3) + 1));
    expect(logOddsOf({ bias: -1, direct: [0, 0], hidden: [unit] }, [2, 1])).toBeCloseTo(expected, 12);
  });

  it('never differs from its linear part by more than its output weights add up to', () => {
    const weight = fc.double({ min: -5, max: 5, noNaN: true });
    fc.assert(
      fc.property(
        fc.array(weight, { minLength: 3, maxLength: 3 }),
        weight,
        weight,
        (inputs, bias, output) => {
          const network = { bias: 0, direct: [1, 1, 1], hidden: [{ bias, inputs: [1, 2, 3], output }] };
          const direct = inputs[0] + inputs[1] + inputs[2];
          expect(Math.abs(logOddsOf(network, inputs) - direct)).toBeLessThanOrEqual(Math.abs(output) + 1e-9);
        },
      ),
    );
  });
});
