import { describe, expect, it } from 'vitest';
import { findScoop } from '../../../src/measure/ornaments/slides.ts';

const unheard = (count: number): number[] => new Array<number>(count).fill(Number.NaN);
const held = new Array<number>(60).fill(0);
/** Up to the held pitch from some cents below it, in so many hundredths of a second. */
const up = (fromCents: number, steps: number): number[] =>
  Array.from({ length: steps }, (_, i) => fromCents * (1 - i / steps));

describe('a scoop', () => {
  it('is found if its beginning is not heard', () => {
    expect(findScoop([...unheard(8), ...up(-150, 12), ...held])).toMatchObject({
      kind: 'scoop',
      fromCents: -150,
    });
  });

  it('is found if the previous note still sounds at first', () => {
    expect(findScoop([1, 0, 1, ...unheard(3), ...up(-140, 12), ...held])).toMatchObject({ fromCents: -140 });
  });

  it('may be faster if it is wide', () => {
    expect(findScoop([...up(-65, 6), ...held])).toMatchObject({ kind: 'scoop' });
    expect(findScoop([...up(-45, 5), ...held])).toBeNull();
  });

  it('is not a single wrong measurement or a jump from another note', () => {
    expect(findScoop([0, 0, -200, 0, 0, ...held])).toBeNull();
    expect(findScoop([-200, -200, -200, 0, ...held])).toBeNull();
  });
});
