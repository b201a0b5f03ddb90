import { describe, expect, it } from 'vitest';
import { HARP_KEYS } from '../../src/harp/keys.ts';
import { LAYOUTS, parseCustomLayout } from '../../src/harp/layouts.ts';
import {
  findPlayable,
  naturalReeds,
  pitchesOf,
  playableNotes,
  soundingNotes,
} from '../../src/harp/playable.ts';
import { parseTemperamentTable } from '../../src/harp/temperaments.ts';
import type { HarpSpec } from '../../src/harp/types.ts';

const C: HarpSpec = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
const hz = (spec: HarpSpec, hole: number, breath: 'blow' | 'draw', bend = 0, over = false) =>
  findPlayable(playableNotes(spec), { hole, breath, bend, over })!.f0Hz;

describe('playable notes', () => {
  it('a Richter harp gives 20 natural, 12 bent and 10 overbent notes', () => {
    const notes = playableNotes(C);
    expect(notes.filter((n) => n.bend === 0 && !n.over)).toHaveLength(20);
    expect(notes.filter((n) => n.bend > 0)).toHaveLength(12);
    expect(notes.filter((n) => n.over)).toHaveLength(10);
    expect(naturalReeds(C)).toHaveLength(20);
  });

  it('of one hole or several sound together, a bent one at its bend', () => {
    // 4 draw of a C harp is D5, bent by one C#5; 5 draw is F5 (OEIS A291810).
    const both = { hole: 4, breath: 'draw', bend: 0, over: false, holes: [4, 5] } as const;
    const notes = playableNotes(C);
    expect(pitchesOf(notes, both)).toEqual([74, 77]);
    expect(pitchesOf(notes, { ...both, bend: 1, holeBends: [1, 0] })).toEqual([73, 77]);
    expect(pitchesOf(notes, { ...both, hole: 5, holeBends: [1, 0] })).toEqual([73, 77]);
    expect(
      soundingNotes(notes, { ...both, holes: [3, 4], hole: 3, bend: 2, holeBends: [2, 0] }),
    ).toMatchObject([
      { hole: 3, bend: 2, midi: 69 },
      { hole: 4, bend: 0, midi: 74 },
    ]);
    expect(soundingNotes(notes, { ...both, hole: 5, holes: [4, 5], holeBends: [0, 3] })).toHaveLength(1);
  });

  it('31 of the 37 pitches from C4 to C7 need no overbend', () => {
    // 31 and 37: makers' pages (common practice, no source); missing: Eb4 Eb5 F#5 Bb5 Db6 Ab6 [calculated]
    const plain = new Set(
      playableNotes(C)
        .filter((n) => !n.over)
        .map((n) => n.midi),
    );
    const all = Array.from({ length: 37 }, (_, i) => 60 + i);
    expect(plain.size).toBe(31);
    expect(all.filter((midi) => !plain.has(midi))).toEqual([63, 75, 78, 82, 85, 92]);
    const withOver = new Set(playableNotes(C).map((n) => n.midi));
    expect(all.every((midi) => withOver.has(midi))).toBe(true);
  });

  it('bends and overbends are those of a C harp', () => {
    // Hole by hole on a C: https://doi.org/10.1121/1.421359 (rule), overbend one semitone up: common practice, no source
    const bent = playableNotes(C).filter((n) => n.bend > 0);
    expect(bent.map((n) => `${n.hole}${n.breath}${n.bend}=${n.midi}`).join(' ')).toBe(
      '1draw1=61 2draw1=66 2draw2=65 3draw1=70 3draw2=69 3draw3=68 4draw1=73 6draw1=80 8blow1=87 9blow1=90 10blow1=95 10blow2=94',
    );
    const over = playableNotes(C).filter((n) => n.over);
    expect(over.map((n) => n.midi)).toEqual([63, 68, 72, 75, 78, 82, 85, 89, 92, 97]);
    expect(over.map((n) => n.breath)).toEqual([...new Array(6).fill('blow'), ...new Array(4).fill('draw')]);
  });

  it('pitches agree with equal temperament', () => {
    // MIDI 60, 72, 84, 96, 97 at A4 = 440 [calculated: 440 * 2^((m-69)/12)]
    expect(hz(C, 1, 'blow')).toBeCloseTo(261.6256, 4);
    expect(hz(C, 4, 'blow')).toBeCloseTo(523.2511, 4);
    expect(hz(C, 7, 'blow')).toBeCloseTo(1046.5023, 4);
    expect(hz(C, 10, 'blow')).toBeCloseTo(2093.0045, 4);
    expect(hz(C, 10, 'draw', 0, true)).toBeCloseTo(2217.461, 3);
    // The same table for other keys and references
    expect(hz({ ...C, key: 'G' }, 1, 'blow')).toBeCloseTo(196.0, 2);
    expect(hz({ ...C, key: 'F#' }, 10, 'blow')).toBeCloseTo(2959.96, 2);
    expect(hz({ ...C, key: 'low F' }, 1, 'blow')).toBeCloseTo(174.61, 2);
    expect(hz({ ...C, key: 'high G' }, 10, 'blow')).toBeCloseTo(3135.96, 2);
    expect(hz({ ...C, a4Hz: 443 }, 1, 'blow')).toBeCloseTo(263.409, 3);
  });

  it('a bend is measured from its own reed, an overbend from the higher one, temperament included', () => {
    const just: HarpSpec = { ...C, temperament: 'just' };
    const cents = (a: number, b: number) => 1200 * Math.log2(a / b);
    expect(cents(hz(just, 3, 'draw', 3), hz(just, 3, 'draw'))).toBeCloseTo(-300, 6);
    expect(cents(hz(just, 10, 'blow', 2), hz(just, 10, 'blow'))).toBeCloseTo(-200, 6);
    expect(cents(hz(just, 6, 'blow', 0, true), hz(just, 6, 'draw'))).toBeCloseTo(100, 6);
    expect(cents(hz(just, 7, 'draw', 0, true), hz(just, 7, 'blow'))).toBeCloseTo(100, 6);
    expect(cents(hz(just, 5, 'draw'), hz(just, 4, 'blow'))).toBeCloseTo(470.781, 3); // 21/16
  });

  it('every tuning in every key keeps bends between the reeds and overbends outside', () => {
    for (const { id } of LAYOUTS) {
      for (const key of [...HARP_KEYS, 'low C', 'high A']) {
        const notes = playableNotes({ ...C, key, tuning: id });
        for (const note of notes) {
          const blow = findPlayable(notes, { hole: note.hole, breath: 'blow', bend: 0, over: false })!;
          const draw = findPlayable(notes, { hole: note.hole, breath: 'draw', bend: 0, over: false })!;
          const [low, high] = [Math.min(blow.midi, draw.midi), Math.max(blow.midi, draw.midi)];
          if (note.over) expect(note.midi).toBe(high + 1);
          if (note.bend > 0) {
            expect(note.midi).toBeGreaterThan(low);
            expect(note.midi).toBeLessThan(high);
          }
        }
      }
    }
  });

  it('accepts a custom layout and temperament', () => {
    const layout = parseCustomLayout({
      blow: ['C4', 'E4', 'G4', 'C5', 'E5', 'G5', 'C6', 'E6', 'G6', 'C7'],
      draw: ['D4', 'G4', 'B4', 'D5', 'F#5', 'A5', 'B5', 'D6', 'F6', 'A6'],
    });
    const custom = { ...C, tuning: 'custom', temperament: 'custom' };
    const zeros = new Array<number>(10).fill(0);
    const temperament = parseTemperamentTable({ blow: zeros.with(0, 10), draw: zeros });
    const notes = playableNotes(custom, { layout, temperament });
    expect(findPlayable(notes, { hole: 5, breath: 'draw', bend: 1, over: false })!.midi).toBe(77);
    expect(1200 * Math.log2(notes[0].f0Hz / 261.6256)).toBeCloseTo(10, 2);
    expect(() => playableNotes(custom)).toThrow(/no tuning is called 'custom'/);
  });

  it.each([0, 399, 481, Number.NaN])('refuses A4 = %d Hz', (a4Hz) => {
    expect(() => playableNotes({ ...C, a4Hz })).toThrow(expect.objectContaining({ code: 'E_HARP' }));
  });
});
