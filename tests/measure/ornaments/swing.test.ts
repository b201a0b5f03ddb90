import { describe, expect, it } from 'vitest';
import { seededRng } from '../../../samples/synth/rng.ts';
import { SwingFinder } from '../../../src/measure/ornaments/swing.ts';

const finder = new SwingFinder(0.01, {
  slowestHz: 3,
  fastestHz: 8.5,
  leastDepth: 10,
  leastShare: 0.6,
  fewestWaves: 2.2,
});
const wave = (lengthSec: number, of: (sec: number) => number): number[] =>
  Array.from({ length: Math.round(100 * lengthSec) }, (_, i) => of(i / 100));

describe('waves', () => {
  it.each([
    [4, 20],
    [5.5, 35],
    [7.5, 60],
  ])('of %d Hz and %d cents are found with their rate and depth', (hz, cents) => {
    const found = finder.find(wave(1.5, (sec) => cents * Math.sin(2 * Math.PI * hz * sec + 1)))!;
    expect(Math.abs(found.hz - hz)).toBeLessThan(0.2);
    expect(Math.abs(found.depth / cents - 1)).toBeLessThan(0.1);
  });

  it('are found if they set in late or the pitch drifts', () => {
    const found = finder.find(
      wave(2, (sec) => 15 * sec + (sec < 1 ? 0 : 30 * Math.sin(2 * Math.PI * 5 * (sec - 1)))),
    )!;
    expect(found.from).toBeGreaterThanOrEqual(60);
    expect(Math.abs(found.hz - 5)).toBeLessThan(0.3);
  });

  it.each<[string, (sec: number) => number]>([
    ['a slow turn', (sec) => 30 * Math.sin(2 * Math.PI * sec)],
    ['a shallow wave', (sec) => 6 * Math.sin(2 * Math.PI * 5 * sec)],
    ['a single bump', (sec) => 40 * Math.exp(-(((sec - 0.7) / 0.05) ** 2))],
    ['a step', (sec) => (sec > 0.8 ? 60 : 0)],
    ['a flutter as quick as a shake', (sec) => 40 * Math.sin(2 * Math.PI * 12 * sec)],
  ])('%s is none', (_, of) => {
    expect(finder.find(wave(1.5, of))).toBeNull();
  });

  it('are not found in random values', () => {
    const rng = seededRng(5);
    const found = Array.from({ length: 200 }, () => finder.find(wave(1, () => 15 * rng.normal())));
    expect(found.filter((one) => one !== null).length).toBeLessThan(4);
  });

  it('are not found in too short a stretch', () => {
    expect(finder.find(wave(0.3, (sec) => 40 * Math.sin(2 * Math.PI * 6 * sec)))).toBeNull();
  });
});
