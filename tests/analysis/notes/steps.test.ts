import { describe, expect, it } from 'vitest';
import { findSteps } from '../../../src/analysis/notes/steps.ts';

/** Seconds in a tick. */
const TICK = 0.005;
const NOTE = 69;

/** A contour of this many seconds, from cents relative to A4. */
function contour(sec: number, centsAt: (sec: number) => number): Float32Array {
  return Float32Array.from({ length: Math.round(sec / TICK) }, (_, i) => NOTE + centsAt(i * TICK) / 100);
}

/** From one pitch to another in 60 ms around a time. */
const glide = (sec: number, at: number, from: number, to: number): number =>
  from + (to - from) * Math.min(1, Math.max(0, (sec - at + 0.03) / 0.06));

describe('steps of a held pitch', () => {
  it.each([43, -43, 60])('finds where a bend of %d cents is released, within 10 ms', (cents) => {
    const steps = findSteps(contour(1.5, (sec) => glide(sec, 0.8, -cents, 0)));
    expect(steps).toHaveLength(1);
    expect(Math.abs(steps[0] * TICK - 0.8)).toBeLessThanOrEqual(0.01);
  });

  it('finds both ends of a bend in the middle of a note', () => {
    const steps = findSteps(
      contour(2, (sec) => (sec < 1 ? glide(sec, 0.6, 0, -45) : glide(sec, 1.3, -45, 0))),
    );
    expect(steps.map((tick) => (tick * TICK).toFixed(1))).toEqual(['0.6', '1.3']);
  });

  it.each<[string, (sec: number) => number]>([
    ['20 cents, as players wander', (sec) => glide(sec, 0.8, -20, 0)],
    ['vibrato of ±55 cents', (sec) => 55 * Math.sin(2 * Math.PI * 5 * sec)],
    ['slow vibrato of ±40 cents', (sec) => 40 * Math.sin(2 * Math.PI * 3 * sec)],
    ['a scoop of a semitone in 150 ms', (sec) => Math.min(0, -100 + (100 * sec) / 0.15)],
    ['a drift of 30 cents a second', (sec) => -30 * sec],
    ['a blip of 60 ms', (sec) => (sec > 0.7 && sec < 0.76 ? -80 : 0)],
  ])('finds none in %s', (_, centsAt) => {
    expect(findSteps(contour(1.5, centsAt))).toEqual([]);
  });

  it('finds none in notes too short for two pitches', () => {
    expect(findSteps(contour(0.3, (sec) => glide(sec, 0.15, 0, 50)))).toEqual([]);
  });
});
