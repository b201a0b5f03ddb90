import { describe, expect, it } from 'vitest';
import { collectBends } from '../../../src/check/bends/collect.ts';
import { approachInWords, practicePlan } from '../../../src/check/bends/practice.ts';
import { summariseBends } from '../../../src/check/bends/summary.ts';
import { referenceOf, strokesOf, takeOf } from '../student.ts';

const TUNE = "-3 -3'' 4 -4 4 -3'' -2 -3 -3'' 6";
const OFF = [60, 10, 40];

function planOf(against: boolean) {
  let bend = 0;
  const strokes = strokesOf(TUNE).map((stroke) =>
    stroke.tab.bend > 0 ? { ...stroke, changes: { cents: OFF[bend++] } } : stroke,
  );
  const { bends } = collectBends([{ name: 'a', take: takeOf(strokes), date: null }]);
  return practicePlan(summariseBends(bends, 25), 25, against ? referenceOf(strokesOf(TUNE)).notes : null);
}

describe('bends to practise', () => {
  it('say where a bend is in the tune, how it is reached, and how far off the attempts were', () => {
    const { bends, minutes, cautions } = planOf(true);
    const [bend] = bends;
    expect(bend.places).toEqual(['bar 1', 'bar 2', 'bar 3']);
    expect(bend.approaches.map(approachInWords)).toEqual(['twice from -3, on the same hole', 'once from 4']);
    expect([bend.best.cents, bend.typical.cents]).toEqual([10, 40]);
    // A4 of 3 draw bent by two semitones on a C harp at A4 = 440 Hz.
    expect(bend.targetHz).toBeCloseTo(440, 6);
    expect(bend.plainHz).toBeCloseTo(493.883, 3);
    // 50 cents above 440 Hz are 452.9 Hz: some thirteen beats a second [calc].
    expect(bend.listen.join(' ')).toContain('2 of 3 attempts missed, 50 cents above the target on average');
    expect(bend.listen.join(' ')).toContain('beats 13 times a second');
    expect(bend.steps.map(({ text }) => text).join(' ')).toContain('Play bar 1 at half speed');
    expect(minutes).toBeGreaterThan(0);
    expect(cautions.join(' ')).toMatch(/dizzy/);
  });

  it('use the takes if no tune is named', () => {
    const [bend] = planOf(false).bends;
    expect(bend.places[0]).toBe('1.5 s');
    expect(bend.approaches.map(approachInWords)).toEqual(['twice from -3, on the same hole', 'once from 4']);
  });
});
