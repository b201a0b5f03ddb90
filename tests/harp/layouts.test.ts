import { describe, expect, it } from 'vitest';
import { ReedtraceError } from '../../src/errors.ts';
import { LAYOUTS, layoutById, parseCustomLayout } from '../../src/harp/layouts.ts';
import { playableNotes } from '../../src/harp/playable.ts';

const spec = (tuning: string) => ({ key: 'C', tuning, temperament: 'equal', a4Hz: 440 });

/** Bends of a harp as text: `1d1` = hole 1, draw, one semitone at most. */
function bendsOf(tuning: string): string {
  const deepest = new Map<number, string>();
  for (const note of playableNotes(spec(tuning))) {
    if (note.bend > 0) deepest.set(note.hole, `${note.hole}${note.breath[0]}${note.bend}`);
  }
  return [...deepest.values()].join(' ');
}

describe('layouts', () => {
  it('richter is the published sequence', () => {
    const { blow, draw } = layoutById('richter');
    // OEIS A291810, all 20 terms: 1 blow, 1 draw, 2 blow, …
    expect(blow.flatMap((offset, i) => [offset, draw[i]])).toEqual([
      0, 2, 4, 7, 7, 11, 12, 14, 16, 17, 19, 21, 24, 23, 28, 26, 31, 29, 36, 33,
    ]);
  });

  it.each(LAYOUTS.map((layout) => [layout.id, layout] as const))('%s is complete and sound', (_, layout) => {
    expect(layout.blow).toHaveLength(10);
    expect(layout.draw).toHaveLength(10);
    expect(layout.blow[0]).toBe(0);
    for (let i = 0; i < 10; i++) expect(Math.abs(layout.blow[i] - layout.draw[i])).toBeGreaterThanOrEqual(1);
    for (let i = 1; i < 10; i++) {
      expect(layout.blow[i]).toBeGreaterThanOrEqual(layout.blow[i - 1]);
      expect(layout.draw[i]).toBeGreaterThan(layout.draw[i - 1]);
    }
  });

  it('has one row per id', () => {
    expect(new Set(LAYOUTS.map((l) => l.id)).size).toBe(LAYOUTS.length);
    expect(new Set(LAYOUTS.map((l) => JSON.stringify([l.blow, l.draw]))).size).toBe(LAYOUTS.length);
  });

  // Rule: higher reed - lower reed - 1, in the breath of the higher reed (JASA 103(4), 2134-2144) [calculated].
  it.each([
    ['richter', '1d1 2d2 3d3 4d1 6d1 8b1 9b1 10b2'],
    ['raised-third', '1d1 2d2 3d1 4d1 6d1 8b1 9b1 10b2'],
    ['country', '1d1 2d2 3d3 4d1 5d1 6d1 8b1 9b1 10b2'],
    ['major-seventh', '1d1 2d2 3d3 4d1 5d1 6d1 8b1 10b2'],
    ['natural-minor', '1d1 2d3 3d2 4d1 5d1 6d1 7b1 9b1 10b2'],
    ['harmonic-minor', '1d1 2d3 3d3 4d1 5d1 9b1 10b3'],
    ['dorian', '1d1 2d2 3d2 4d1 6d1 7b1 8b1 9b1 10b2'],
    ['solo', '1d1 3d1 5d1 7d1 9d1'],
    ['circular', '1d1 3d1 4d1 5d1 6d1 8d1 10d1'],
    ['raised-third-country', '1d1 2d2 3d1 4d1 5d1 6d1 8b1 10b2'],
  ])('%s bends where its reeds allow', (tuning, bends) => {
    expect(bendsOf(tuning)).toBe(bends);
  });

  it('has the circular table a fourth above G', () => {
    // http://praiseharp.us/articles/circular.html prints the G harp: blow G3 B3 D4 F4 A4 C5 E5 G5 B5 D6.
    const g3 = 55;
    expect(layoutById('circular').blow.map((offset) => g3 + offset)).toEqual([
      55, 59, 62, 65, 69, 72, 76, 79, 83, 86,
    ]);
    expect(layoutById('circular').draw.map((offset) => g3 + offset)).toEqual([
      57, 60, 64, 67, 71, 74, 77, 81, 84, 88,
    ]);
  });

  it('lists the tunings when asked for an unknown one', () => {
    expect(() => layoutById('banana')).toThrow(/no tuning is called 'banana'/);
    expect(caught(() => layoutById('banana')).fix).toMatch(/richter, raised-third.*JSON file/);
  });
});

describe('custom layouts', () => {
  const blow = ['C4', 'E4', 'G4', 'C5', 'E5', 'G5', 'C6', 'E6', 'G6', 'C7'];
  const draw = ['D4', 'G4', 'B4', 'D5', 'F5', 'A5', 'B5', 'D6', 'F6', 'A6'];

  it('reads twenty notes', () => {
    const layout = parseCustomLayout({ name: 'mine', blow, draw });
    expect(layout.writtenTonicMidi).toBe(60);
    expect(layout.blow).toEqual(layoutById('richter').blow);
    expect(layout.draw).toEqual(layoutById('richter').draw);
    expect(layout.name).toBe('mine');
  });

  it.each([
    ['same note twice', { blow, draw: draw.with(3, 'C5') }, /hole 4 .* same note C5/],
    ['enharmonic twice', { blow: blow.with(0, 'C#4'), draw: draw.with(0, 'Db4') }, /hole 1 .* same note C#4/],
    ['no octave', { blow: blow.with(6, 'C'), draw }, /hole 7 blow: "C" is not a note/],
    ['a number', { blow, draw: draw.with(9, 93 as never) }, /hole 10 draw: 93 is not a note/],
    ['far too low', { blow, draw: draw.with(1, 'G0') }, /hole 2 draw: G0 is outside/],
    ['nine columns', { blow: blow.slice(1), draw }, /'blow' has 9 notes/],
    ['no draw', { blow }, /no list 'draw'/],
    ['not an object', [blow, draw], /not a JSON object/],
  ])('refuses %s', (_, json, message) => {
    const error = caught(() => parseCustomLayout(json));
    expect(error.code).toBe('E_TUNING');
    expect(error.message).toMatch(message);
  });
});

function caught(action: () => unknown): ReedtraceError {
  try {
    action();
  } catch (error) {
    if (error instanceof ReedtraceError) return error;
    throw error;
  }
  throw new Error('nothing was thrown');
}
