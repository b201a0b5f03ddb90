import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { measurePhraseLevel } from '../../src/measure/phrase-level.ts';

const phrase = (levels: readonly number[], flags: readonly string[] = []) =>
  levels.map((levelDb, i) => ({ onsetSec: 0.5 * i, levelDb, flags }));

describe('evenness of level through a phrase', () => {
  it('is without spread or change in an even phrase', () => {
    expect(measurePhraseLevel(phrase([-20, -20, -20, -20, -20]))).toEqual({ spreadDb: 0, changeDb: 0 });
  });

  it('is a change of -6 dB without spread if seven notes fade by 1 dB each [calc]', () => {
    const level = measurePhraseLevel(phrase([-14, -15, -16, -17, -18, -19, -20]));
    expect(level!.changeDb).toBeCloseTo(-6, 9);
    expect(level!.spreadDb).toBeCloseTo(0, 9);
  });

  it('is a spread of 3 dB if every other note is 6 dB softer [calc]', () => {
    const level = measurePhraseLevel(phrase([-12, -18, -12, -18, -12, -18, -12]));
    expect(level!.spreadDb).toBeCloseTo(3, 1);
  });

  it('is not tilted by one loud note (Theil, 1950)', () => {
    const level = measurePhraseLevel(phrase([-20, -20, -20, -20, -20, -20, -2]));
    expect(level).toEqual({ spreadDb: 0, changeDb: 0 });
  });

  it('is unknown for four notes, and ignores notes without a measured level', () => {
    expect(measurePhraseLevel(phrase([-20, -19, -20, -19]))).toBeNull();
    for (const flag of ['not-measured', 'too-noisy-to-judge', 'clipped'])
      expect(measurePhraseLevel(phrase([-20, -19, -20, -19, -20], [flag]))).toBeNull();
  });

  it('does not depend on the overall level', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -40, max: -10, noNaN: true }), { minLength: 5, maxLength: 20 }),
        fc.double({ min: -20, max: 10, noNaN: true }),
        (levels, louder) => {
          const a = measurePhraseLevel(phrase(levels))!;
          const b = measurePhraseLevel(phrase(levels.map((level) => level + louder)))!;
          expect(b.spreadDb).toBeCloseTo(a.spreadDb, 6);
          expect(b.changeDb).toBeCloseTo(a.changeDb, 6);
        },
      ),
    );
  });
});
