import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type ArrangeOptions, arrange, type Candidate } from '../../src/arrange/arrange.ts';
import { hardestNotes, missingNotes, placeInWords } from '../../src/arrange/explain.ts';
import { changedNotes } from '../../src/arrange/learning.ts';
import { arrangeTune, choicesOf, priced } from '../../src/arrange/tablature.ts';
import type { Tune } from '../../src/arrange/tune.ts';
import { DEFAULT_WEIGHTS, parseArrangeWeights } from '../../src/arrange/weights.ts';
import { harpKeyAt, parseHarpKey } from '../../src/harp/keys.ts';
import { LAYOUTS, layoutById } from '../../src/harp/layouts.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import { formatTabNote } from '../../src/tab/text.ts';
import { tuneOf } from './tunes.ts';

const tabOf = ({ laid }: Pick<Candidate, 'laid'>) =>
  laid.choices.map((choice) => (choice ? formatTabNote(choice.note) : '?')).join(' ');

/** The one candidate on this harp in this octave, in the tune's own key. */
function on(tune: Tune, key: string, tuning: string, octave: number, more: ArrangeOptions = {}): Candidate {
  const { candidates } = arrange(tune, {
    harps: [parseHarpKey(key)],
    tunings: [layoutById(tuning)],
    keepKey: true,
    octaves: [octave],
    ...more,
  });
  expect(candidates).toHaveLength(1);
  return candidates[0];
}

const D_MAJOR = tuneOf([62, 64, 66, 67, 69, 71, 73, 74]);
const G_MINOR = tuneOf([79, 81, 82, 84, 86, 87, 89, 91]);

describe('worked checks', () => {
  // Offsets 0 2 4 5 7 9 11 12 against the layout of the harp [calculated]
  it('D major low on a D harp takes two bends', () => {
    const low = on(D_MAJOR, 'D', 'richter', 0);
    expect(low).toMatchObject({ bends: 2, overbends: 0, missing: 0, position: 1 });
    expect(tabOf(low)).toBe("1 -1 2 -2'' -2 -3'' -3 4");
  });

  it('an octave up it takes none', () => {
    const high = on(D_MAJOR, 'D', 'richter', 1);
    expect(high).toMatchObject({ bends: 0, missing: 0, octaveShift: 1 });
    expect(tabOf(high)).toBe('4 -4 5 -5 6 -6 -7 7');
  });

  it('low on a raised third it takes one, on solo none', () => {
    const raised = on(D_MAJOR, 'D', 'raised-third', 0);
    expect(raised.bends).toBe(1);
    expect(tabOf(raised)).toBe("1 -1 2 -2'' -2 3 -3 4");
    const solo = on(D_MAJOR, 'D', 'solo', 0);
    expect(solo.bends).toBe(0);
    expect(tabOf(solo)).toMatch(/^1 -1 2 -2 3 -3 -4 [45]$/); // 4 and 5 blow of solo are the same note
  });

  it('G natural minor takes none on natural minor in C range', () => {
    const minor = on(G_MINOR, 'C', 'natural-minor', 0);
    expect(minor).toMatchObject({ bends: 0, position: 2 });
    expect(tabOf(minor)).toBe('6 -6 -7 7 -8 8 -9 9');
  });

  it('country tuning in second position takes one bend, with a raised third none', () => {
    // G4 A4 B4 C5 D5 E5 F#5 G5 = -2 -3'' -3 4 -4 5 -5 6 [calculated]
    const scale = tuneOf([67, 69, 71, 72, 74, 76, 78, 79]);
    const country = on(scale, 'C', 'country', 0);
    expect(tabOf(country)).toMatch(/^(-2|3) -3'' -3 4 -4 5 -5 6$/);
    expect(on(scale, 'C', 'raised-third-country', 0).bends).toBe(0);
  });
});

describe('the search', () => {
  it('ranks the octave without bends first, and names the position', () => {
    const { candidates } = arrange(D_MAJOR, {
      harps: [parseHarpKey('D')],
      tunings: [layoutById('richter')],
      keepKey: true,
    });
    expect(candidates[0]).toMatchObject({ octaveShift: 1, bends: 0 });
    expect(candidates.map((c) => c.octaveShift)).toContain(0);
    for (let i = 1; i < candidates.length; i++) {
      const [a, b] = [candidates[i - 1], candidates[i]];
      expect(a.missing < b.missing || (a.missing === b.missing && a.cost <= b.cost + 1e-9)).toBe(true);
    }
  });

  it('moves to other keys only when harps are named and the key is free', () => {
    const richter = { tunings: [layoutById('richter')], harps: [parseHarpKey('A')] };
    const free = arrange(D_MAJOR, richter).candidates;
    expect(new Set(free.map((c) => c.transposeSemitones)).size).toBe(12);
    const kept = arrange(D_MAJOR, { ...richter, keepKey: true }).candidates;
    expect(new Set(kept.map((c) => c.transposeSemitones))).toEqual(new Set([0]));
    // A on an A harp is a fifth up or a fourth down from D
    expect(free[0]).toMatchObject({ position: 1, bends: 0, transposeSemitones: -5 });
    const all = arrange(D_MAJOR, { tunings: richter.tunings }).candidates;
    expect(new Set(all.map((c) => c.harp.key)).size).toBe(12);
  });

  it('stays within what the player can do', () => {
    const none = on(D_MAJOR, 'D', 'richter', 0, { skill: { bends: 'none', over: false } });
    expect(none).toMatchObject({ bends: 0, missing: 2 });
    expect(missingNotes(none.laid)).toEqual([3, 5]);
    const high = tuneOf([94, 95, 96, 93]); // Bb6 B6 C7 A6 on a C: 10'' 10' 10 -10
    expect(on(high, 'C', 'richter', 0, { skill: { bends: 'draw', over: false } }).missing).toBe(2);
    expect(tabOf(on(high, 'C', 'richter', 0))).toBe("10'' 10' 10 -10");
    const eFlat = tuneOf([63, 64, 60, 63]);
    expect(on(eFlat, 'C', 'richter', 0).missing).toBe(2);
    const over = on(eFlat, 'C', 'richter', 0, { skill: { bends: 'all', over: true } });
    expect(over).toMatchObject({ missing: 0, overbends: 2 });
    expect(tabOf(over)).toBe('1o 2 1 1o');
  });

  it('ranks a chromatic tune least bad first, and names the notes that are missing', () => {
    const chromatic = tuneOf(Array.from({ length: 25 }, (_, i) => 60 + i));
    const { candidates } = arrange(chromatic, { skill: { bends: 'none', over: false } });
    expect(candidates.length).toBeGreaterThan(0);
    expect(candidates[0].missing).toBeGreaterThan(0);
    expect(Math.min(...candidates.map((c) => c.missing))).toBe(candidates[0].missing);
  });

  it('for practice, finds a few bends that are glided into', () => {
    const { candidates } = arrange(D_MAJOR, {
      practiceBends: true,
      harps: [parseHarpKey('D'), parseHarpKey('G')],
    });
    expect(candidates[0].bends).toBeGreaterThan(0);
    expect(candidates[0].bends).toBeLessThanOrEqual(2);
    const firstPlain = candidates.findIndex((c) => c.missing === 0 && c.bends === 0);
    const lastBent = candidates.findLastIndex((c) => c.missing === 0 && c.bends > 0);
    expect(firstPlain).toBeGreaterThan(lastBent);
  });

  it('for practice, prefers the wanted number of bends to more', () => {
    // Low D major: two bends on Richter, one on a raised third; eight notes ask for one
    const { candidates } = arrange(D_MAJOR, {
      practiceBends: true,
      harps: [parseHarpKey('D')],
      tunings: [layoutById('richter'), layoutById('raised-third')],
      keepKey: true,
      octaves: [0],
    });
    expect(candidates.map((c) => c.bends)).toEqual([1, 2]);
  });

  it("uses the player's own weights", () => {
    const over = on(tuneOf([63]), 'C', 'richter', 0, {
      skill: { bends: 'all', over: true },
      weights: parseArrangeWeights({ overbend: 1.5, attacked: 0 }),
    });
    expect(over.cost).toBe(1.5);
    expect(() => parseArrangeWeights({ blowbend1: 2 })).toThrow(/no weight is called 'blowbend1'/);
    expect(() => parseArrangeWeights({ overbend: -1 })).toThrow(/'overbend': -1/);
  });
});

const midi = fc.integer({ min: 55, max: 100 });
const durations = fc.array(fc.constantFrom(0.2, 0.25, 0.5, 1, 2.3, 4), { minLength: 7, maxLength: 7 });
const anyLayout = fc.constantFrom(...LAYOUTS);

describe('properties', () => {
  it('the optimum is that of brute force', () => {
    const skill = { bends: 'all', over: true } as const;
    // Notes of holes 2, 3 and 4 of a C harp: 67 and 72, 68 have two or three places each
    const tunes = fc.array(fc.constantFrom(65, 67, 67, 68, 72, 72, 77, 89), { minLength: 1, maxLength: 7 });
    let severalPlaces = 0;
    fc.assert(
      fc.property(tunes, durations, anyLayout, (midis, lengths, layout) => {
        const tune = tuneOf(midis, lengths);
        const notes = playableNotes({ key: 'C', tuning: layout.id, temperament: 'equal', a4Hz: 440 });
        const choices = choicesOf(notes, skill);
        const options = midis.map((m) => choices.get(m) ?? [null]);
        let ways: (typeof options)[number][number][][] = [[]];
        for (const list of options) ways = ways.flatMap((way) => list.map((choice) => [...way, choice]));
        if (ways.length > 1) severalPlaces++;
        const best = Math.min(...ways.map((way) => priced(tune, way, DEFAULT_WEIGHTS).cost));
        expect(arrangeTune(tune, choices, 0, DEFAULT_WEIGHTS).cost).toBeCloseTo(best, 9);
      }),
    );
    expect(severalPlaces).toBeGreaterThan(20);
  });

  it('moving tune and harp together changes nothing', () => {
    fc.assert(
      fc.property(
        fc.array(midi, { minLength: 1, maxLength: 12 }),
        durations,
        fc.integer({ min: 48, max: 72 }),
        fc.integer({ min: -5, max: 6 }),
        anyLayout,
        (midis, lengths, tonicMidi, shift, layout) => {
          const lay = (by: number) => {
            const { candidates } = arrange(
              tuneOf(
                midis.map((m) => m + by),
                lengths,
              ),
              {
                harps: [harpKeyAt(tonicMidi + by)!],
                tunings: [layout],
                keepKey: true,
              },
            );
            return candidates.map((c) => [c.octaveShift, c.position, c.cost, tabOf(c)]);
          };
          expect(lay(shift)).toEqual(lay(0));
        },
      ),
    );
  });

  it('never ranks the harp that was played worse than what was played', () => {
    fc.assert(
      fc.property(
        anyLayout,
        fc.constantFrom('C', 'A', 'low F'),
        fc.array(fc.nat(), { minLength: 1, maxLength: 15 }),
        durations,
        (layout, key, picks, lengths) => {
          const notes = playableNotes({ key, tuning: layout.id, temperament: 'equal', a4Hz: 440 });
          const tab = picks.map((pick) => notes[pick % notes.length]);
          const tune = tuneOf(
            tab.map((note) => note.midi),
            lengths,
          );
          const { candidates, played } = arrange(tune, {
            played: { harp: parseHarpKey(key), layout, tab },
            skill: { bends: 'all', over: true },
            tunings: [layout],
            harps: [parseHarpKey(key)],
            keepKey: true,
          });
          const same = candidates.find((c) => c.octaveShift === 0)!;
          expect(same.missing).toBe(0);
          expect(same.cost).toBeLessThanOrEqual(played!.cost + 1e-9);
          expect(candidates[0].cost).toBeLessThanOrEqual(played!.cost + 1e-9);
        },
      ),
    );
  });
});

describe('words', () => {
  it('say what is hard and where', () => {
    // B4 A4: whole-tone bend on 3 draw, glided into and held; C harp
    const tune = tuneOf([71, 69], [0.5, 1.8]);
    const { laid } = on(tune, 'C', 'richter', 0);
    expect(hardestNotes(tune, laid, 3)).toEqual([
      { noteIndex: 1, why: 'line 1, last note: whole-tone draw bend on 3, held 1.8 s, glided into' },
    ]);
    const leap = tuneOf([60, 96, 70, 60], [0.5, 0.5, 0.5, 0.5]);
    const hard = hardestNotes(leap, on(leap, 'C', 'richter', 0).laid, 9).map(({ why }) => why);
    expect(hard).toContain('line 1, note 2: leap of 9 holes from 1 to 10');
    expect(hard).toContain('line 1, note 3: half-tone draw bend on 3, after a leap from 10');
  });

  it('names full lungs', () => {
    const tune = tuneOf([62, 71, 74, 77, 81, 83], new Array(6).fill(2)); // all draw on a C
    const { laid } = on(tune, 'C', 'richter', 0);
    expect(laid.prices().parts.map((p) => p.breath > 0)).toEqual([false, true, true, true, true, true]);
    expect(hardestNotes(tune, laid, 9).map(({ why }) => why)).toContain(
      'line 1, note 3: lungs full after 6 s of draw',
    );
  });

  it('count places by line', () => {
    const tune = { ...tuneOf([60, 62, 64, 65]), lineStarts: [0, 3] };
    expect([0, 2, 3].map((i) => placeInWords(tune, i))).toEqual([
      'line 1, note 1',
      'line 1, last note',
      'line 2, last note',
    ]);
    const { laid } = on(tuneOf([60, 62, 64]), 'C', 'richter', 0);
    const today = [1, 1, 3].map(
      (hole, i) => ({ hole, breath: i === 1 ? 'draw' : 'blow', bend: 0, over: false }) as const,
    );
    expect(changedNotes(laid, today)).toBe(1);
  });
});
