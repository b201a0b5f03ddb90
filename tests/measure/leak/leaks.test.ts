import { describe, expect, it } from 'vitest';
import type { HoleReading } from '../../../src/holes/holes.ts';
import type { NoteLeak } from '../../../src/tab/note.ts';
import { eventOf, harp, noteOf, type Reed, reedsIn, sound, sure } from '../sounds.ts';

const C = harp();

/** One note of 0.6 s with other reeds, and what is found in it. */
function hear(
  hole: number,
  breath: 'blow' | 'draw',
  others: readonly Reed[],
  {
    noiseDb = -40,
    bend = 0,
    lengthSec = 0.6,
    readings,
  }: { noiseDb?: number; bend?: number; lengthSec?: number; readings?: HoleReading[] } = {},
): NoteLeak | null {
  const note = noteOf(C, hole, breath, bend);
  const samples = sound([{ midi: note.midi, levelDb: 0 }, ...others], lengthSec, noiseDb);
  return reedsIn(samples, [eventOf(note.midi, 0, lengthSec)], [readings ?? sure(note)], C)[0].leak;
}

const NEIGHBOURS = [
  [1, 'draw', 2],
  [2, 'draw', 1],
  [3, 'draw', 4],
  [4, 'draw', 3],
  [4, 'draw', 5],
  [5, 'draw', 6],
  [6, 'draw', 7],
  [7, 'draw', 6],
  [2, 'blow', 1],
  [3, 'blow', 4],
  [4, 'blow', 5],
  [5, 'blow', 4],
  [6, 'blow', 5],
  [7, 'blow', 8],
  [9, 'blow', 8],
  [10, 'blow', 9],
] as const;

describe('a second reed', () => {
  it.each(NEIGHBOURS)(
    '%d %s with hole %d: found at -12 and -20 dB, with its level',
    (hole, breath, second) => {
      for (const levelDb of [-12, -20]) {
        const leak = hear(hole, breath, [{ midi: noteOf(C, second, breath).midi + 0.05, levelDb }]);
        expect(leak?.hole).toBe(second);
        expect(Math.abs(leak!.levelDb - levelDb)).toBeLessThan(1.5);
        expect(leak!.kind).toBe('leak');
        expect(leak!.share).toBe(1);
      }
    },
  );

  it.each(NEIGHBOURS)('%d %s alone has none', (hole, breath) => expect(hear(hole, breath, [])).toBeNull());

  it('is not found in noise 10 dB below the note', () => {
    for (const hole of [2, 4, 6, 8]) expect(hear(hole, 'blow', [], { noiseDb: -10 })).toBeNull();
  });

  it('is found under vibrato that both reeds share', () => {
    const wave = (midi: number) => (sec: number) => midi + 0.4 * Math.sin(2 * Math.PI * 5.5 * sec);
    const note = noteOf(C, 4, 'draw');
    const samples = sound(
      [
        { midi: wave(note.midi), levelDb: 0 },
        { midi: wave(noteOf(C, 5, 'draw').midi), levelDb: -20 },
      ],
      0.8,
      -45,
    );
    const [{ leak }] = reedsIn(samples, [eventOf(wave(note.midi), 0, 0.8)], [sure(note)], C);
    expect(leak?.hole).toBe(5);
    expect(Math.abs(leak!.levelDb + 20)).toBeLessThan(2);
  });

  it('is found in a bent note', () => {
    expect(hear(3, 'draw', [{ midi: noteOf(C, 4, 'draw').midi, levelDb: -15 }], { bend: 2 })?.hole).toBe(4);
  });

  it('is found in a note of 120 ms', () => {
    expect(
      hear(4, 'blow', [{ midi: noteOf(C, 5, 'blow').midi, levelDb: -12 }], { lengthSec: 0.12 })?.hole,
    ).toBe(5);
  });

  it('is not a steady leak if it sounds for only half of the note', () => {
    const leak = hear(4, 'draw', [{ midi: noteOf(C, 5, 'draw').midi, levelDb: -10, fromSec: 0.6 }], {
      lengthSec: 1.2,
    });
    expect(leak).toBeNull();
  });

  it('is a chord if as loud as the note, and a split if four holes away', () => {
    expect(hear(4, 'blow', [{ midi: noteOf(C, 5, 'blow').midi, levelDb: -2 }])?.kind).toBe('chord');
    // Main note 4 blow, an octave above the 1 blow that sounds with it.
    expect(hear(4, 'blow', [{ midi: noteOf(C, 1, 'blow').midi, levelDb: -3 }])).toMatchObject({
      hole: 1,
      kind: 'split',
    });
  });

  it('is the ring of a room, not a split, if further away and fading', () => {
    const fading: Reed[] = [0, 1, 2, 3, 4, 5].map((i) => ({
      midi: noteOf(C, 1, 'blow').midi,
      levelDb: -2 - 3 * i,
      fromSec: 0.1 * i,
      toSec: 0.1 * i + 0.13,
    }));
    expect(hear(4, 'blow', fading)).toBeNull();
  });

  it("is not guessed an octave above, where it can't be detected", () => {
    expect(hear(1, 'blow', [{ midi: noteOf(C, 4, 'blow').midi, levelDb: -3 }])).toBeNull();
  });

  it('is not the echo of the note before, but is the same sound if it stays', () => {
    const five = noteOf(C, 5, 'draw');
    const four = noteOf(C, 4, 'draw');
    const events = [eventOf(five.midi, 0, 0.5), eventOf(four.midi, 0.5, 1.1, { start: 'slur' })];
    const readings = [sure(five), sure(four)];
    const echo: Reed[] = [0, 1, 2, 3, 4, 5].map((i) => ({
      midi: five.midi,
      levelDb: -10 - 8 * i,
      fromSec: 0.5 + 0.1 * i,
      toSec: 0.63 + 0.1 * i,
    }));
    const notes: Reed[] = [
      { midi: five.midi, levelDb: 0, toSec: 0.5 },
      { midi: four.midi, levelDb: 0, fromSec: 0.5 },
    ];
    expect(reedsIn(sound([...notes, ...echo], 1.1, -50), events, readings, C)[1].leak).toBeNull();
    const stays: Reed = { midi: five.midi, levelDb: -12, fromSec: 0.5 };
    expect(reedsIn(sound([...notes, stays], 1.1, -50), events, readings, C)[1].leak?.hole).toBe(5);
  });

  it('decides between 2 draw and 3 blow: 1 draw can only sound with a draw', () => {
    const blow = noteOf(C, 3, 'blow');
    const draw = noteOf(C, 2, 'draw');
    const readings = [
      { note: blow, probability: 0.6 },
      { note: draw, probability: 0.4 },
    ];
    const samples = sound(
      [
        { midi: blow.midi, levelDb: 0 },
        { midi: noteOf(C, 1, 'draw').midi, levelDb: -14 },
      ],
      0.6,
      -40,
    );
    const [found] = reedsIn(samples, [eventOf(blow.midi, 0, 0.6)], [readings], C);
    expect(found.reading).toBe(1);
    expect(found.leak?.hole).toBe(1);
    const alone = reedsIn(
      sound([{ midi: blow.midi, levelDb: 0 }], 0.6, -40),
      [eventOf(blow.midi, 0, 0.6)],
      [readings],
      C,
    );
    expect(alone[0].reading).toBe(0);
  });

  it('does not affect brightness, the centre of power in partial numbers', () => {
    const note = noteOf(C, 4, 'blow');
    const dull = reedsIn(
      sound([{ midi: note.midi, levelDb: 0, slopeDbPerOctave: 40 }], 0.5),
      [eventOf(note.midi, 0, 0.5)],
      [sure(note)],
      C,
    );
    const bright = reedsIn(
      sound([{ midi: note.midi, levelDb: 0, slopeDbPerOctave: 2 }], 0.5),
      [eventOf(note.midi, 0, 0.5)],
      [sure(note)],
      C,
    );
    expect(dull[0].brightness).toBeCloseTo(1, 1);
    expect(bright[0].brightness!).toBeGreaterThan(3);
  });
});
