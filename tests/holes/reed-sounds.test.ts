import { describe, expect, it } from 'vitest';
import type { SoundEvent } from '../../src/analysis/notes/events.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import { buildNotes } from '../../src/holes/build-notes.ts';
import { readHoles } from '../../src/holes/holes.ts';
import { readAgain } from '../../src/holes/redecode.ts';
import { event, harp, signs } from '../tab/hand-made.ts';

// 2 draw and 3 blow of the usual tuning are one pitch: facts of the Richter layout (common practice, no source).
const C = harp('C');
const NOTES = playableNotes(C);
const G4 = 67;
const A4 = 69;
const E4 = 64;

/** Partials of a reed, by which of them stand out. */
const sound = (bumps: readonly number[]): Float32Array =>
  Float32Array.from({ length: 10 }, (_, k) => -20 - 5 * Math.log2(k + 1) + (bumps[k % bumps.length] ?? 0));
const DARK = sound([0, 6, -3, 4, -5]);
const BRIGHT = sound([0, -5, 5, -4, 6]);

/** A passage in which the holes of G4 are open: each note after a pause, so that neither breath nor tongue tells. */
const passage = (notes: readonly (readonly [midi: number, sound: Float32Array])[]): SoundEvent[] =>
  notes.map(([midi, partialsDb], i) => event(midi, { onsetSec: i, offsetSec: i + 0.4, partialsDb }));
const read = (events: readonly SoundEvent[]): string =>
  signs(readHoles(events, NOTES).map(([{ note }]) => note));

/** The same, where the first G4 is slurred from 3 draw bent, hence surely drawn, and the second from 3 blow's neighbour. */
const told = (second: Float32Array): SoundEvent[] => {
  const events = passage([
    [G4, DARK],
    [65, DARK],
    [G4, DARK],
    [E4, BRIGHT],
    [G4, second],
    [E4, BRIGHT],
    [G4, second],
  ]);
  const slur = { start: 'glide', dipDb: 0.3 } as const;
  // What is slurred touches what it goes on from.
  const touching = events.map((one, i) => (i < 2 ? { ...one, offsetSec: i + 1 } : one));
  return touching.map((one, i) => (i === 1 || i === 2 ? { ...one, ...slur } : one));
};

describe('reeds that share a pitch', () => {
  it('a note is on the same reed as a sure one that it sounds like, and on the other if it sounds different', () => {
    const holes = (second: Float32Array): string[] => {
      const all = read(told(second)).split(' ');
      return [all[0], all[2], all[4], all[6]];
    };
    expect(holes(DARK)).toEqual(['-2', '-2', '-2', '-2']);
    expect(holes(BRIGHT)).toEqual(['-2', '-2', '3', '3']);
  });

  it('tone makes a reading surer than the passage alone', () => {
    const sure = readHoles(told(BRIGHT), NOTES)[4][0].probability;
    const mute = told(BRIGHT).map((one) => ({ ...one, partialsDb: new Float32Array() }));
    const unsure = readHoles(mute, NOTES)[4].find(({ note }) => note.hole === 3 && note.breath === 'blow');
    expect(sure).toBeGreaterThan((unsure?.probability ?? 0) + 0.1);
  });

  it('a note keeps its tone, so that reading a take again gives the same result', () => {
    const events = told(BRIGHT);
    const nothing = { intonation: null, leak: null, flags: [] };
    const notes = buildNotes(
      events,
      readHoles(events, NOTES),
      events.map(() => 1),
      events.map(() => nothing),
    );
    // -20, -25 + 6, -27.9 - 3 and -30 + 4 dB, against the strongest of them.
    expect(notes[0].partialsDb?.slice(0, 4)).toEqual([-1, 0, -12, -7]);
    expect(signs(readAgain(notes, NOTES))).toBe(signs(notes));
    const mute = notes.map(({ partialsDb, ...note }) => note);
    expect(signs(readAgain(mute, NOTES))).not.toBe(signs(notes));
  });

  it('tone changes nothing for a pitch that only one reed has', () => {
    expect(
      read(
        passage([
          [A4, DARK],
          [A4, BRIGHT],
        ]),
      ),
    ).toBe("-3'' -3''");
    expect(
      read(
        passage([
          [E4, DARK],
          [E4, BRIGHT],
        ]),
      ),
    ).toBe('2 2');
  });

  it('no events, one event, or identical partials cause no problem', () => {
    expect(read([])).toBe('');
    expect(read(passage([[G4, DARK]]))).toMatch(/^(-2|3)$/);
    const flat = new Float32Array(10).fill(-40);
    expect(
      read(
        passage([
          [G4, flat],
          [G4, flat],
        ]),
      ),
    ).toMatch(/^(-2 -2|3 3)$/);
  });
});
