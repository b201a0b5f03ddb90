import { describe, expect, it } from 'vitest';
import { findFall, findScoop } from '../../../src/measure/ornaments/slides.ts';

/** A reed in the middle. */
const A4_HZ = 440;
const unheard = (count: number): number[] => new Array<number>(count).fill(Number.NaN);
const held = new Array<number>(60).fill(0);
/** Up to the held pitch from some cents below it, in so many hundredths of a second. */
const up = (fromCents: number, steps: number): number[] =>
  Array.from({ length: steps }, (_, i) => fromCents * (1 - i / steps));

describe('a scoop', () => {
  it('is found if its beginning is not heard', () => {
    expect(findScoop([...unheard(8), ...up(-150, 12), ...held], A4_HZ)).toMatchObject({
      kind: 'scoop',
      fromCents: -150,
    });
  });

  it('is found if the previous note still sounds at first', () => {
    expect(findScoop([1, 0, 1, ...unheard(3), ...up(-140, 12), ...held], A4_HZ)).toMatchObject({
      fromCents: -140,
    });
  });

  it('is slower than a reed that speaks low, above all a low reed, or wider', () => {
    expect(findScoop([...up(-65, 6), ...held], A4_HZ)).toMatchObject({ kind: 'scoop' });
    expect(findScoop([...up(-45, 4), ...held], A4_HZ)).toBeNull();
    expect(findScoop([...up(-65, 7), ...held], 220)).toBeNull();
    expect(findScoop([...up(-65, 14), ...held], 220)).toMatchObject({ kind: 'scoop' });
    expect(findScoop([...up(-100, 7), ...held], 220)).toMatchObject({ kind: 'scoop' });
  });

  it('is not a single wrong measurement or a jump from another note', () => {
    expect(findScoop([0, 0, -200, 0, 0, ...held], A4_HZ)).toBeNull();
    expect(findScoop([-200, -200, -200, 0, ...held], A4_HZ)).toBeNull();
  });
});

describe('a fall', () => {
  const down = (toCents: number, steps: number): number[] =>
    Array.from({ length: steps }, (_, i) => (toCents * (i + 1)) / steps);

  it('may rest where it ends while the room rings, but no longer', () => {
    const rests = (steps: number): number[] => new Array<number>(steps).fill(-110);
    expect(findFall([...held, ...down(-110, 20), ...rests(24)])).toMatchObject({
      kind: 'fall',
      toCents: -110,
    });
    expect(findFall([...held, ...down(-110, 20), ...rests(45)])).toBeNull();
  });
});
