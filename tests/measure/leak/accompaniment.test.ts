import { describe, expect, it } from 'vitest';
import { hasAccompaniment, isHeld } from '../../../src/measure/leak/accompaniment.ts';
import { eventOf, harp, noteOf, type Reed, reedsIn, sound, sure } from '../sounds.ts';

const found = (...windows: number[][]) => windows.map((windowDb) => ({ windowDb }));
const never = (count: number): boolean[] => Array.from({ length: count }, () => false);

describe('another instrument', () => {
  it("is recognised by strings that die away, and by reeds that the breath can't sound", () => {
    expect(hasAccompaniment(found([-10, -10, -11, -10]), never(20))).toBe(false);
    const falling = found(...Array.from({ length: 5 }, () => [-10, -13, -16, -20]));
    expect(hasAccompaniment(falling, never(20))).toBe(true);
    const otherBreath = never(20).map((_, i) => i % 4 === 0);
    expect(hasAccompaniment([], otherBreath)).toBe(true);
    expect(hasAccompaniment([], never(20))).toBe(false);
  });

  it('falls, while a reed is held or comes in late; two windows are too few to tell', () => {
    expect(isHeld({ windowDb: [-21, -15, -14, -14] })).toBe(true);
    expect(isHeld({ windowDb: [-12, -12, -13, -14] })).toBe(true);
    expect(isHeld({ windowDb: [-8, -12, -15, -19] })).toBe(false);
    expect(isHeld({ windowDb: [-12, -12] })).toBe(false);
  });

  it('is not a reed that is held as long as its note', () => {
    expect(leaksOf(0.7, [DRAW])[NOTES]).toBe(5);
  });
});

const C = harp();
const MAIN = noteOf(C, 4, 'blow');
/** Beside a blow note no breath gives that. */
const DRAW: Reed = { midi: noteOf(C, 5, 'draw').midi, levelDb: -18 };
const LEAK: Reed = { midi: noteOf(C, 5, 'blow').midi, levelDb: -18 };
const NOTES = 6;

/** Six notes with others beside them, then one with a leak: the holes that are said. */
function leaksOf(lengthSec: number, others: readonly Reed[]): (number | null)[] {
  const times = Array.from({ length: NOTES + 1 }, (_, i) => [i * lengthSec, (i + 1) * lengthSec] as const);
  const reeds = times.flatMap(([fromSec, toSec], i) =>
    [{ midi: MAIN.midi, levelDb: 0 }, ...(i < NOTES ? others : [LEAK])].map((reed) => ({
      ...reed,
      fromSec,
      toSec,
    })),
  );
  const samples = sound(reeds, (NOTES + 1) * lengthSec, -45);
  const events = times.map(([fromSec, toSec]) => eventOf(MAIN.midi, fromSec, toSec));
  const readings = times.map(() => sure(MAIN));
  return reedsIn(samples, events, readings, C).map(({ leak }) => leak?.hole ?? null);
}
