import { describe, expect, it } from 'vitest';
import { HARP_KEYS, keyFromLabel, parseHarpKey, printedLabel } from '../../src/harp/keys.ts';
import { LAYOUTS, layoutById } from '../../src/harp/layouts.ts';

describe('harp keys', () => {
  // Octave of each key: https://en.wikipedia.org/wiki/Richter-tuned_harmonica
  it.each([
    ['G', 55],
    ['Ab', 56],
    ['A', 57],
    ['Bb', 58],
    ['B', 59],
    ['C', 60],
    ['Db', 61],
    ['D', 62],
    ['Eb', 63],
    ['E', 64],
    ['F', 65],
    ['F#', 66],
  ])('%s starts on MIDI %i, low and high an octave away', (key, midi) => {
    expect(parseHarpKey(key)).toEqual({ key, tonicMidi: midi });
    expect(parseHarpKey(`low ${key}`)).toEqual({ key: `low ${key}`, tonicMidi: midi - 12 });
    expect(parseHarpKey(`high ${key}`)).toEqual({ key: `high ${key}`, tonicMidi: midi + 12 });
  });

  it.each([
    ['bb', 'Bb'],
    ['B♭', 'Bb'],
    ['c', 'C'],
    ['b', 'B'],
    ['C#', 'Db'],
    ['gb', 'F#'],
    ['D♯', 'Eb'],
    ['Cb', 'B'],
    ['LF', 'low F'],
    ['lbb', 'low Bb'],
    ['Low F#', 'low F#'],
    ['low-d', 'low D'],
    ['F low', 'low F'],
    ['HG', 'high G'],
    [' high  G ', 'high G'],
  ])('understands %s', (text, key) => {
    expect(parseHarpKey(text).key).toBe(key);
  });

  it.each(['', 'H', 'Hx', 'C##', 'low', 'low C high', 'Cm', '12', 'mid C'])('refuses %s', (text) => {
    expect(() => parseHarpKey(text)).toThrow(
      expect.objectContaining({ code: 'E_HARP', fix: expect.stringContaining('G, Ab, A, Bb') }),
    );
  });

  // Labels: http://patmissin.com/articles/AHN3.html ("G minor" has the range of a C) and the page on specially
  // tuned instruments (harmonic minor by first position; three raised reeds by second position).
  it.each([
    ['richter', 'C', 'C'],
    ['natural-minor', 'C', 'G minor'],
    ['natural-minor', 'low F', 'low C minor'],
    ['harmonic-minor', 'C', 'C minor'],
    ['raised-third-country', 'C', 'G'],
    ['circular', 'G', 'G'],
  ])('%s harp with hole-1 blow %s is sold as %s', (tuning, key, label) => {
    const layout = layoutById(tuning);
    expect(printedLabel(key, layout)).toBe(label);
    expect(keyFromLabel(label, layout).key).toBe(key);
  });

  it('converts every key to its label and back', () => {
    for (const layout of LAYOUTS) {
      for (const key of HARP_KEYS) {
        expect(keyFromLabel(printedLabel(key, layout), layout).key).toBe(key);
      }
    }
  });
});
