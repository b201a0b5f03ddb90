import { describe, expect, it } from 'vitest';
import { tallyPlanted } from './planted.ts';
import { PLANTABLE } from './student.ts';

describe('planted mistakes', () => {
  const tally = tallyPlanted(40, 0.02, 7);

  it('95 % are found and named correctly in the right place', () => {
    expect(tally.planted).toBeGreaterThan(150);
    expect(tally.found / tally.planted, tally.misses.join('\n')).toBeGreaterThanOrEqual(0.95);
  });

  it('nine in ten of each kind are found', () => {
    for (const kind of PLANTABLE) {
      const { planted, found } = tally.byKind.get(kind)!;
      expect(found / planted, kind).toBeGreaterThanOrEqual(0.9);
    }
  });

  it('at most one finding in a hundred notes has no cause', () => {
    expect(tally.falseFindings / tally.notes, tally.misses.join('\n')).toBeLessThanOrEqual(0.01);
  });
});
