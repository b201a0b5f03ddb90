import { describe, expect, it } from 'vitest';
import { parseAdviceWeights } from '../../src/check/advice/weights.ts';
import { inVerse, type Reference, referenceFromTake } from '../../src/check/align/reference.ts';
import { checkTake } from '../../src/check/check-take.ts';
import { TOLERANCES } from '../../src/check/finding.ts';
import { byChance, byScatter } from '../../src/check/progress/chance.ts';
import { compareTakes } from '../../src/check/progress/compare.ts';
import { placeInWords } from '../../src/check/words.ts';
import { longTake } from '../bench/speed/long-tune.ts';
import { referenceOf, type Stroke, strokesOf, takeOf } from './student.ts';

const LINES = ['4 -4 5 -5 6 -6 6 5', '7 -8 8 -7 -6 6 -5 5', "-4 -3 -2 -3'' -3 4 -4 4", '6 6 -5 5 -4 5 4 4'];
const TUNE = strokesOf(LINES.join(' '));
const REFERENCE: Reference = {
  ...referenceOf(TUNE),
  notes: referenceOf(TUNE).notes.map((note, b) => ({ ...note, line: 1 + Math.floor(b / 8) })),
};
const options = { tolerances: TOLERANCES };
const from = (strokes: readonly Stroke[], beat: number): Stroke[] =>
  strokes.map((stroke, i) => ({ ...stroke, onset: beat + stroke.onset - strokes[0].onset + 0 * i }));
const line = (n: number, beat = 0): Stroke[] => from(TUNE.slice(8 * (n - 1), 8 * n), beat);

describe('the part of a tune that was played', () => {
  it('is detected: one line, or two', () => {
    const one = checkTake(takeOf(line(3)), REFERENCE, options);
    expect(one.scope.lines).toEqual([3, 3]);
    expect(one.attempt.score.score).toBe(100);
    expect(one.remarks[0]).toContain('you played line 3');
    const two = checkTake(takeOf([...line(2), ...line(3, 8)]), REFERENCE, options);
    expect(two.scope.lines).toEqual([2, 3]);
  });

  it('is the whole tune if all of it was played, and what was asked for if named', () => {
    expect(checkTake(takeOf(TUNE), REFERENCE, options).scope.whole).toBe(true);
    const asked = checkTake(takeOf(line(3)), REFERENCE, { ...options, lines: [3, 4] });
    expect(asked.attempt.judgement.missed).toBe(8);
    expect(() => checkTake(takeOf(TUNE), REFERENCE, { ...options, lines: [5, 5] })).toThrow(/4 lines/);
  });
});

describe('another tune', () => {
  it('is reported alone, without advice on this one', () => {
    const other = takeOf(strokesOf('7 7 -8 8 8 -8 7 -7 -6 7 -7 -6 6 -5 6 -6 -7 7 -7 -6'));
    const { otherTune, remarks, advice, wentWell } = checkTake(other, REFERENCE, options);
    expect({ otherTune, advice, wentWell }).toEqual({ otherTune: true, advice: [], wentWell: [] });
    expect(remarks).toEqual([expect.stringMatching(/of 32 notes match 'tune': is it the right tune\?$/)]);
  });

  it('is not reported for a take that gets half of the notes right', () => {
    const half = TUNE.map((stroke, i) =>
      i % 2 ? stroke : { ...stroke, tab: { ...stroke.tab, hole: 10, bend: 0 } },
    );
    const { otherTune, advice } = checkTake(takeOf(half), REFERENCE, options);
    expect(otherTune).toBe(false);
    expect(advice[0].kind).toBe('wrong-note');
  });
});

describe('a bend halfway between two', () => {
  it('counts as the wanted bend, missed, although neither is likely on its own', () => {
    const played = TUNE.map((stroke) =>
      stroke.tab.bend === 2
        ? {
            ...stroke,
            changes: {
              cents: 49,
              confidence: 0.36,
              alternatives: [{ hole: 3, breath: 'draw', bend: 1, over: false, confidence: 0.27 } as const],
            },
          }
        : stroke,
    );
    const { attempt, remarks } = checkTake(takeOf(played), REFERENCE, options);
    expect(attempt.judgement.findings.map(({ kind }) => kind)).toEqual(['bend-short']);
    expect(remarks.join()).not.toContain('can hardly be heard');
  });
});

describe('a long tune', () => {
  const tune = longTake(330);
  const reference = referenceFromTake('teacher', tune);
  const lined: Reference = {
    ...reference,
    notes: reference.notes.map((note, b) => ({ ...note, line: 1 + Math.floor(b / 11) })),
  };

  it('is judged by a long part if that was played', () => {
    const notes = tune.notes.slice(22, 264);
    expect(checkTake({ ...tune, notes, phrases: [] }, lined, options).scope.lines).toEqual([3, 24]);
  });

  it('is judged as a whole if none of it was played', () => {
    expect(checkTake(longTake(330, 77), lined, options).scope.whole).toBe(true);
  });
});

describe('several attempts in one recording', () => {
  const wrong = (strokes: Stroke[], at: number): Stroke[] =>
    strokes.map((stroke, i) => (i === at ? { ...stroke, tab: { ...stroke.tab, hole: 9 } } : stroke));

  it('are judged separately, and the best counts', () => {
    const take = takeOf([...wrong(wrong(line(2), 3), 5), ...wrong(line(2, 10), 3), ...line(2, 20)]);
    const { attempts, advice, remarks } = checkTake(take, REFERENCE, options);
    expect(attempts.all).toHaveLength(3);
    expect(attempts.best).toBe(2);
    expect(attempts.trend).toBeGreaterThan(0);
    expect(advice).toEqual([]);
    expect(remarks.join()).toContain('better each time');
  });
});

describe('what to work on first', () => {
  it('puts short bends before many faint second reeds, which count as one', () => {
    const strokes = TUNE.map((stroke, i) => ({
      ...stroke,
      changes:
        stroke.tab.bend > 0
          ? { cents: 50 }
          : i % 4 === 0
            ? { leak: { hole: 5, levelDb: -19, share: 1 } }
            : {},
    }));
    const { advice } = checkTake(takeOf(strokes), REFERENCE, options);
    expect(advice.map(({ kind }) => kind)).toEqual(['bend-short', 'second-reed']);
    expect(advice[1].count).toBeGreaterThan(3);
    const own = parseAdviceWeights({ leakLoud: 30 });
    expect(checkTake(takeOf(strokes), REFERENCE, { ...options, weights: own }).advice[0].kind).toBe(
      'second-reed',
    );
    expect(() => parseAdviceWeights({ leaks: 3 })).toThrow(/no weight is called 'leaks'/);
  });

  it('counts a bend off by a semitone as missed, and a plain reed as a wrong note', () => {
    const at = TUNE.findIndex(({ tab }) => tab.bend === 2);
    const played = (bend: number): Stroke[] =>
      TUNE.map((stroke, i) => (i === at ? { ...stroke, tab: { ...stroke.tab, bend } } : stroke));
    expect(checkTake(takeOf(played(1)), REFERENCE, options).advice[0].kind).toBe('bend-short');
    expect(checkTake(takeOf(played(0)), REFERENCE, options).advice[0].kind).toBe('wrong-note');
  });
});

describe('an earlier take', () => {
  const bent = (cents: number): Stroke[] =>
    strokesOf("-3'' -3 -3'' 4 -3'' -4 -3'' 4").map((stroke, i) => ({
      ...stroke,
      changes: stroke.tab.bend > 0 ? { cents: cents + (i % 3) } : {},
    }));

  it('says first that bends that were all short are now in tune', () => {
    const reference = referenceOf(bent(0));
    const [before, now] = [bent(45), bent(2)].map((strokes) =>
      checkTake(takeOf(strokes), reference, options),
    );
    const changes = compareTakes(before.attempt, now.attempt, TOLERANCES);
    expect(changes[0]).toMatchObject({ of: 'bend', verdict: 'better' });
    expect(changes.find(({ of }) => of === 'bend-short')).toMatchObject({
      before: 4,
      now: 0,
      verdict: 'better',
    });
    expect(changes.find(({ of }) => of === 'time')).toMatchObject({ verdict: 'unchanged' });
  });

  it('chance agrees with the tables', () => {
    // Fisher's exact test of 0 of 3 against 4 of 4: 1 of 35 ways, p = 0.029 [calc]; of 1 of 2 against 2 of 2, p = 1.
    expect(byChance([1, 1, 1], [0, 0, 0, 0]).clear).toBe(true);
    expect(byChance([1, 0], [0, 0]).clear).toBe(false);
    // Student's t at 97.5 %: 4 degrees of freedom 2.776 (tables); both groups have variance 1, so its error is √(2/3).
    expect(byScatter([1, 2, 3], [4, 5, 6]).upTo).toBeCloseTo(2.776 * Math.sqrt(2 / 3), 3);
    expect(byScatter([1, 2, 3], [4, 5, 6]).clear).toBe(true);
  });
});

describe('places in words', () => {
  it('name the pick-up, and the words of the verse that is played', () => {
    const note = { ...REFERENCE.notes[0], bar: 0, word: 'O', verses: ['O', 'And'] };
    expect(placeInWords(note)).toBe('the pick-up on "O"');
    const second = inVerse({ ...REFERENCE, notes: [note] }, 2);
    expect(placeInWords(second.notes[0])).toBe('the pick-up on "And"');
  });
});
