import { describe, expect, it } from 'vitest';
import { WAY_PATTERNS, wayPatterns } from '../../../src/music/rhythm/bars/way-patterns.ts';
import { planBar } from '../../../src/music/rhythm/metre.ts';

/** A bar of 4/4 twice (C D E, a half note at its end), then the same a step higher. */
const PITCHES = [60, 62, 64, 60, 62, 64, 62, 64, 66];
const AT_TICKS = [0, 12, 24, 48, 60, 72, 96, 108, 120];
const LONG_NOTES = [2, 5, 8];

function patternsOf(metre: { count: number; unit: number }): Record<string, number> {
  const numbers = wayPatterns({ plan: planBar(metre), atTicks: AT_TICKS, score: 0 }, PITCHES, LONG_NOTES);
  expect(numbers).toHaveLength(WAY_PATTERNS.length);
  return Object.fromEntries(WAY_PATTERNS.map((name, i) => [name, numbers[i]]));
}

describe('features of the metre of a whole tune', () => {
  it('show that every bar of 4/4 has the rhythm of the one before, and half of them the same notes', () => {
    const found = patternsOf({ count: 4, unit: 4 });
    // Six notes have a bar to go; the length of the last note of all is not known.
    expect(found['lengths again after a bar']).toBeCloseTo(5 / 6, 9);
    expect(found['notes again after a bar']).toBeCloseTo(3 / 6, 9);
    // The steps within a bar are the same, the one over its end differs in the second: the keys move up.
    expect(found['steps again after a bar']).toBeCloseTo(4 / 6, 9);
    expect(found['lengths again after four bars']).toBe(0);
    expect(found['long in the second of two bars']).toBeCloseTo(1 / 3, 9);
    expect(found.pulses).toBeCloseTo(6 / 8, 9);
  });

  it('distinguish 2/4: a bar is not like the next, but like the one after that, and every second one is long', () => {
    const found = patternsOf({ count: 2, unit: 4 });
    expect(found['notes again after a bar']).toBeLessThan(0.3);
    expect(found['lengths again after two bars']).toBeCloseTo(5 / 6, 9);
    expect(found['long in the second of two bars']).toBe(1);
  });
});
