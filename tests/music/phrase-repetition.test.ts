import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { labelPhrases, pairNotes } from '../../src/music/phrase-repetition.ts';
import { parseTabToken } from '../../src/tab/text.ts';

const PHRASES = [
  { firstNote: 0, lastNote: 4 },
  { firstNote: 5, lastNote: 9 },
];
const played = (tab: string, midis: readonly number[]) =>
  tab.split(' ').map((sign, i) => ({ ...parseTabToken(sign)!, midi: midis[i] }));

describe('repeats', () => {
  // Draw 2 and blow 3 of a Richter harp are the same note (facts of the tuning; G4 on a C harp).
  it('on other holes are the same tune, with the holes that differ', () => {
    const melody = [67, 71, 69, 68, 67];
    const notes = played("-2 -3 -3'' -3''' -2 3 -3 -3'' -3''' 3", [
      ...melody,
      ...melody.map((midi) => midi + 0.1),
    ]);
    const [first, second] = labelPhrases(notes, PHRASES);
    expect([first.label, second.label]).toEqual(['A', "A'"]);
    expect(second.like?.differences).toEqual([
      { kind: 'changed', note: 5, other: 0 },
      { kind: 'changed', note: 9, other: 4 },
    ]);
  });

  it('with other notes are not repeats', () => {
    const notes = played("-2 -3 -3'' -3''' -2 4 -3 -3'' -3''' 4", [67, 71, 69, 68, 67, 72, 71, 69, 68, 72]);
    expect(labelPhrases(notes, PHRASES).map(({ label }) => label)).toEqual(['A', 'B']);
  });

  it('are those found by aligning every phrase with every earlier one', () => {
    // Few pitches and phrases of several lengths, so that many are nearly alike; 2 draw and 3 blow sound the same.
    const sign = fc.constantFrom('4', '-4', '-2', '3', "-3''");
    const pitch: Record<string, number> = { '4': 72, '-4': 74, '-2': 67, '3': 67.2, "-3''": 69 };
    const line = fc.array(sign, { minLength: 1, maxLength: 9 });
    fc.assert(
      fc.property(fc.array(line, { minLength: 2, maxLength: 8 }), (lines) => {
        const signs = lines.flat();
        const notes = played(
          signs.join(' '),
          signs.map((each) => pitch[each]),
        );
        let next = 0;
        const phrases = lines.map(({ length }) => {
          next += length;
          return { firstNote: next - length, lastNote: next - 1 };
        });
        const models: number[] = [];
        const expected = phrases.map((phrase, p) => {
          const shares = models.map((m) => {
            const size = Math.max(lines[m].length, lines[p].length);
            const others = pairNotes(notes, phrases[m], phrase).filter(
              ({ kind, note, other }) =>
                kind !== 'same' &&
                !(note !== null && other !== null && Math.abs(notes[note].midi - notes[other].midi) < 0.5),
            );
            return Math.min(lines[m].length, lines[p].length) < 3 ? 0 : 1 - others.length / size;
          });
          const best = Math.max(0, ...shares);
          if (best >= 0.7) return models[shares.indexOf(best)];
          models.push(p);
          return null;
        });
        expect(labelPhrases(notes, phrases).map(({ like }) => like?.phrase ?? null)).toEqual(expected);
      }),
      { numRuns: 300 },
    );
  });
});
