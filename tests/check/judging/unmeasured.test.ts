import { describe, expect, it } from 'vitest';
import { wentWell } from '../../../src/check/advice/went-well.ts';
import { TOLERANCES } from '../../../src/check/finding.ts';
import { type Judgement, judge } from '../../../src/check/judging/judge.ts';
import { scoreOf } from '../../../src/check/score.ts';
import { referenceOf, strokesOf, takeOf } from '../student.ts';

const TUNE = strokesOf('4 -4 5 -5 6 -6 -7 7');

const REFERENCE = referenceOf(TUNE);

/** A take of the tune in which some notes have flags, judged. */
const judgedWith = (...flags: readonly (readonly string[])[]): Judgement => {
  const strokes = TUNE.map((stroke, i) => ({ ...stroke, changes: { flags: [...(flags[i] ?? [])] } }));
  return judge(takeOf(strokes), REFERENCE, TOLERANCES);
};

const remarksWith = (...flags: readonly (readonly string[])[]): readonly string[] =>
  judgedWith(...flags).remarks;

const CLIPPED = ['clipped'];
const NOISY = ['too-noisy-to-judge'];

describe('measures that the recording cannot support', () => {
  it('says nothing if everything could be measured', () =>
    expect(remarksWith().filter((remark) => remark.includes('left out'))).toEqual([]));

  it('says once how many notes are clipped, what is left out, why, and what to do', () =>
    expect(remarksWith(CLIPPED, [], CLIPPED).filter((remark) => remark.includes('clipped'))).toEqual([
      'level, attack and brightness are left out in 2 notes of 8, since they clipped: record at a lower level',
    ]));

  it('gives noisy notes their own reason', () => {
    const said = remarksWith(CLIPPED, NOISY).filter((remark) => remark.includes('left out'));
    expect(said).toEqual([
      'level, attack and brightness are left out in one note of 8, since it clipped: record at a lower level',
      'pitch, second reeds and tone are left out in one note of 8, since it drowned in noise: record nearer to the harp or where it is quieter',
    ]);
  });

  it('does not count notes as clean if noise hides second reeds', () => {
    const judgement = judgedWith(NOISY, NOISY);
    const clean = scoreOf(judgement, REFERENCE, TOLERANCES).parts.find(({ part }) => part === 'clean');
    expect(clean?.because).toBe('6 of 6 clean; 2 notes too noisy to judge');
    expect(wentWell(judgement, REFERENCE, TOLERANCES)).toContain(
      'clean single notes: no second reed in 6 notes',
    );
  });
});
