import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { SoundEvent } from '../../src/analysis/notes/events.ts';
import { harpKeyAt } from '../../src/harp/keys.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import type { HarpSpec, PlayableNote } from '../../src/harp/types.ts';
import { HOLE_COSTS, harpScore, readHoles } from '../../src/holes/holes.ts';
import { BREATH_DIP_DB, event, harp, playedOn, SLUR_DIP_DB, signs } from '../tab/hand-made.ts';

const C = harp('C');
const read = (events: readonly SoundEvent[], spec: HarpSpec = C): string =>
  signs(readHoles(events, playableNotes(spec)).map(([{ note }]) => note));

/** MIDI numbers on a C harp: G4 is both 2 draw and 3 blow. */
const G4 = 67;

/** Events at these pitches, in one go, all begun in the same way. */
const inOneGo = (midis: readonly number[], start: SoundEvent['start'], dipDb: number): SoundEvent[] =>
  midis.map((midi, i) =>
    event(midi, i === 0 ? { onsetSec: 0 } : { start, dipDb, onsetSec: 0.4 * i, offsetSec: 0.4 * i + 0.4 }),
  );

describe('a slide', () => {
  it('tells nothing of the note before a pause, as it goes on from a sound that was left out', () => {
    const drawn = (pauseSec: number): number => {
      const notes = playableNotes(C);
      const bent = event(65, { onsetSec: 0, offsetSec: 0.4 });
      const slid = event(G4, { onsetSec: 0.4 + pauseSec, start: 'glide', dipDb: 0.3 });
      return (
        readHoles([bent, slid], notes)[1].find(({ note }) => note.hole === 2 && note.breath === 'draw')
          ?.probability ?? 0
      );
    };
    expect(drawn(0)).toBeGreaterThan(0.99);
    expect(drawn(0.2)).toBeLessThan(0.8);
  });
});

describe('every note of the harp by its pitch', () => {
  it.each([
    ['the scale in the middle', '4 -4 5 -5 6 -6 -7 7'],
    ['the top', '7 -8 8 -9 9 -10 10'],
    ['draw bends', "-1 -1' -1 -2 -2' -2'' -2 -3 -3' -3'' -3 -4 -4' -4 -6 -6' -6"],
    ['blow bends', "8 8' 8 9 9' 9 10 10' 10'' 10"],
    ['overblows and overdraws', '4 4o 4 | 5 5o 5 | 6 6o 6 | -7 -7o -7 | -9 -9o -9 | -10 -10o -10'],
  ])('%s', (_, tab) => {
    expect(read(playedOn(C, tab))).toBe(tab.replaceAll('| ', ''));
  });

  it('is recognised if plain notes are 12 cents off and bends 40 cents', () => {
    expect(read(playedOn(C, '4 -4 5 -5 6 -6', [12, -12]))).toBe('4 -4 5 -5 6 -6');
    expect(read(playedOn(C, "-3'' -2'' -3' -4'", [-40, 35]))).toBe("-3'' -2'' -3' -4'");
  });

  it('is the nearest one if the pitch is far from all notes of the harp', () => {
    expect(read([event(112)])).toBe('-10o');
    expect(read([event(40)])).toBe('1');
  });

  it('no events give no readings', () => {
    expect(readHoles([], playableNotes(C))).toEqual([]);
  });
});

describe('2 draw or 3 blow, which sound the same on a Richter harp', () => {
  it('is 2 draw among draw notes without a gap', () => {
    expect(read(inOneGo([71, G4, 71], 'slur', SLUR_DIP_DB))).toBe('-3 -2 -3');
    expect(read(inOneGo([62, G4, 62], 'slur', SLUR_DIP_DB))).toBe('-1 -2 -1');
  });

  it('is 3 blow among blow notes without a gap', () => {
    expect(read(inOneGo([72, G4, 72], 'slur', SLUR_DIP_DB))).toBe('4 3 4');
    expect(read(inOneGo([64, G4, 72], 'slur', SLUR_DIP_DB))).toBe('2 3 4');
  });

  it('a clear gap on both sides means a change of breath on both sides', () => {
    expect(read(inOneGo([71, G4, 71], 'gap', BREATH_DIP_DB))).toBe('-3 3 -3');
    expect(read(inOneGo([72, G4, 72], 'gap', BREATH_DIP_DB))).toBe('4 -2 4');
  });

  it("the gap decides where pitch can't: blow to G4 with a gap, then on to a draw without one", () => {
    const events = [
      event(72),
      event(G4, { start: 'gap', dipDb: BREATH_DIP_DB, onsetSec: 0.4 }),
      event(71, { start: 'slur', dipDb: SLUR_DIP_DB, onsetSec: 0.8 }),
    ];
    expect(read(events)).toBe('4 -2 -3');
    const mirrored = [
      event(71),
      event(G4, { start: 'gap', dipDb: BREATH_DIP_DB, onsetSec: 0.4 }),
      event(72, { start: 'slur', dipDb: SLUR_DIP_DB, onsetSec: 0.8 }),
    ];
    expect(read(mirrored)).toBe('-3 3 4');
  });

  it('a re-articulation stays on its reed', () => {
    const repeated = (first: SoundEvent): SoundEvent[] => [
      first,
      event(G4, { start: 'slur', dipDb: SLUR_DIP_DB, onsetSec: 0.4 }),
      event(G4, { start: 'rearticulation', dipDb: BREATH_DIP_DB, onsetSec: 0.8 }),
      event(G4, { start: 'rearticulation', dipDb: BREATH_DIP_DB, onsetSec: 1.2 }),
    ];
    expect(read(repeated(event(71)))).toBe('-3 -2 -2 -2');
    expect(read(repeated(event(72)))).toBe('4 3 3 3');
  });

  it('both readings are listed, and the doubt is larger without neighbours', () => {
    const [[alone, ...others]] = readHoles([event(G4)], playableNotes(C));
    expect([signs([alone.note]), signs([others[0].note])].sort()).toEqual(['-2', '3']);
    expect(alone.probability + others[0].probability).toBeGreaterThan(0.95);
    expect(alone.probability).toBeLessThan(0.75);
    const amongDraws = readHoles(inOneGo([71, G4, 71, G4, 62], 'slur', SLUR_DIP_DB), playableNotes(C));
    expect(amongDraws[1][0].probability).toBeGreaterThan(0.9);
  });
});

describe('glides', () => {
  it('stay in their hole and breath', () => {
    expect(read(playedOn(C, "-3 ~-3''' ~-3"))).toBe("-3 -3''' -3"); // Ab4 is also 2 overblow
    expect(read(playedOn(C, "-2'' ~-2 ~-2'"))).toBe("-2'' -2 -2'"); // G4 is also 3 blow
  });

  it('even if a gap suggests the other breath', () => {
    const events = [event(65), event(G4, { start: 'glide', dipDb: 6, onsetSec: 0.4 })];
    expect(read(events)).toBe("-2'' -2");
  });
});

describe('transposed together with the harp', () => {
  const starts = ['silence', 'gap', 'rearticulation', 'slur'] as const;
  const notesOfC = playableNotes(C);
  const step = fc.record({
    at: fc.nat(notesOfC.length - 1),
    // Never on a whole cent: a reading that ends at a whole distance would hang on the last bit.
    cents: fc.integer({ min: -45, max: 45 }).map((whole) => whole + 0.37),
    start: fc.constantFrom(...starts),
    dipDb: fc.integer({ min: 0, max: 30 }),
  });

  it('events keep their holes and confidence', () => {
    fc.assert(
      fc.property(
        fc.array(step, { minLength: 1, maxLength: 12 }),
        fc.integer({ min: -17, max: 18 }),
        (steps, semitones) => {
          const moved = (by: number): SoundEvent[] =>
            steps.map(({ at, cents, start, dipDb }, i) =>
              event(notesOfC[at].midi + cents / 100 + by, { start, dipDb, onsetSec: 0.4 * i }),
            );
          const key = harpKeyAt(60 + semitones)!.key;
          const here = readHoles(moved(0), notesOfC);
          const there = readHoles(moved(semitones), playableNotes(harp(key)));
          here.forEach((readings, i) => {
            // Two readings that are equally likely may come in either order.
            const [first, second] = readings;
            const tied = second && Math.abs(first.probability - second.probability) < 1e-6;
            if (!tied) expect(signs([there[i][0].note])).toBe(signs([first.note]));
            expect(there[i][0].probability).toBeCloseTo(first.probability, 6);
          });
        },
      ),
      { numRuns: 60 },
    );
  });

  it('events keep their holes if A4 moves by the same amount', () => {
    const tab = "4 -4 5 -5 6 -6 | -2 -3'' -3 4 -2' 3";
    for (const a4Hz of [432, 443, 452]) {
      const spec = harp('C', { a4Hz });
      expect(read(playedOn(spec, tab), spec)).toBe(read(playedOn(C, tab)));
    }
  });

  it('probabilities of every event sum to at most 1 and fall after the first', () => {
    fc.assert(
      fc.property(fc.array(step, { minLength: 1, maxLength: 12 }), (steps) => {
        const events = steps.map(({ at, cents, start, dipDb }, i) =>
          event(notesOfC[at].midi + cents / 100, { start, dipDb, onsetSec: 0.4 * i }),
        );
        for (const readings of readHoles(events, notesOfC)) {
          const sum = readings.reduce((total, { probability }) => total + probability, 0);
          expect(sum).toBeLessThanOrEqual(1 + 1e-9);
          expect(sum).toBeGreaterThan(0.8);
          expect(new Set(readings.map(({ note }) => note)).size).toBe(readings.length);
          for (let i = 2; i < readings.length; i++) {
            expect(readings[i].probability).toBeLessThanOrEqual(readings[i - 1].probability);
          }
        }
      }),
      { numRuns: 60 },
    );
  });
});

describe('score of a harp', () => {
  it('is best for the harp that was played, among its neighbours by fifths', () => {
    const events = playedOn(C, "4 -4 5 -5 6 -6 -7 7 | -2 -3'' -3 4 -4 5 -2");
    const noteScore = (_: number, { bend, over }: PlayableNote, cents: number): number =>
      -0.5 * (cents / 15) ** 2 - (over ? 4 : bend);
    const score = (key: string): number =>
      harpScore(events, playableNotes(harp(key)), { costs: HOLE_COSTS, noteScore, unexplained: -10 });
    for (const key of ['F', 'G', 'Bb', 'D', 'A', 'Db', 'B']) {
      expect(score('C'), key).toBeGreaterThan(score(key) + 3);
    }
  });
});
