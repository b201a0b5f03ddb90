import { describe, expect, it } from 'vitest';
import { KEY_NAMES } from '../../src/harp/keys.ts';
import { noteName, scaleDegree } from '../../src/harp/names.ts';
import {
  parsePitchClass,
  parsePosition,
  positionName,
  positionOf,
  tonicOfPosition,
} from '../../src/harp/positions.ts';

const pc = (name: string) => parsePitchClass(name)!;

describe('positions', () => {
  it('are the circle of fifths on a C harp', () => {
    // https://harp-l.org/pipermail/harp-l/1994-July/msg00019.html, all twelve
    const tonics = Array.from({ length: 12 }, (_, i) => KEY_NAMES[tonicOfPosition(i + 1, pc('C'))]);
    expect(tonics).toEqual(['C', 'G', 'D', 'A', 'E', 'B', 'F#', 'Db', 'Ab', 'Eb', 'Bb', 'F']);
  });

  // Song key, position, harp key [calculated: harp = song - 7 (p - 1) mod 12]
  it.each([
    ['E', 2, 'A'],
    ['G', 2, 'C'],
    ['D', 3, 'C'],
    ['A', 4, 'C'],
    ['F', 12, 'C'],
    ['Bb', 2, 'Eb'],
    ['B', 3, 'A'],
  ])('a song in %s in position %i needs a harp in %s', (song, position, harp) => {
    expect(tonicOfPosition(position, pc(harp))).toBe(pc(song));
    expect(positionOf(pc(song), pc(harp))).toBe(position);
  });

  it('position, tonic and harp agree for all keys', () => {
    for (let harp = 0; harp < 12; harp++) {
      for (let position = 1; position <= 12; position++) {
        const tonic = tonicOfPosition(position, harp);
        expect(positionOf(tonic, harp)).toBe(position);
      }
    }
  });

  it.each([
    ['2', 2],
    ['2nd', 2],
    ['second', 2],
    ['Cross', 2],
    ['2nd position', 2],
    ['straight', 1],
    ['slant', 3],
    ['12th', 12],
  ])('reads %s', (text, position) => {
    expect(parsePosition(text)).toBe(position);
  });

  it.each(['0', '13', 'thirteenth', '', 'straightish'])('refuses %s', (text) => {
    expect(() => parsePosition(text)).toThrow(expect.objectContaining({ code: 'E_USAGE' }));
  });

  it('names them', () => {
    expect([1, 2, 3, 4, 11].map(positionName)).toEqual([
      '1st position (straight)',
      '2nd position (cross)',
      '3rd position (slant)',
      '4th position',
      '11th position',
    ]);
  });
});

describe('names', () => {
  it('spells in the key', () => {
    const scale = (tonic: string, from: number) =>
      [0, 2, 4, 5, 7, 9, 11].map((step) => noteName(from + step, pc(tonic))).join(' ');
    // Major scales, elementary theory
    expect(scale('C', 60)).toBe('C4 D4 E4 F4 G4 A4 B4');
    expect(scale('A', 57)).toBe('A3 B3 C#4 D4 E4 F#4 G#4');
    expect(scale('Eb', 63)).toBe('Eb4 F4 G4 Ab4 Bb4 C5 D5');
    expect(scale('B', 59)).toBe('B3 C#4 D#4 E4 F#4 G#4 A#4');
    expect(noteName(65, pc('F#'))).toBe('F4');
  });

  it('keeps the octave of what it names', () => {
    const at: Record<string, number> = { C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 };
    for (let tonic = 0; tonic < 12; tonic++) {
      for (let midi = 40; midi < 104; midi++) {
        const [, letter, sign, octave] = /^([A-G])([#b]?)(\d)$/.exec(noteName(midi, tonic))!;
        const altered = sign === '#' ? 1 : sign === 'b' ? -1 : 0;
        // MIDI 60 = C4
        expect(12 * (Number(octave) + 1) + at[letter] + altered).toBe(midi);
      }
    }
  });

  it('counts degrees from the keynote', () => {
    expect([67, 69, 70, 73, 77].map((midi) => scaleDegree(midi, pc('G')))).toEqual([
      '1',
      '2',
      'b3',
      '#4',
      'b7',
    ]);
    expect(scaleDegree(60, pc('G'))).toBe('4');
  });
});
