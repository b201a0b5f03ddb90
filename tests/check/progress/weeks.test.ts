import { describe, expect, it } from 'vitest';
import { checkTake } from '../../../src/check/check-take.ts';
import { TOLERANCES } from '../../../src/check/finding.ts';
import { trendOf, trendOn } from '../../../src/check/progress/trend.ts';
import { coursesOf, type WeekTake } from '../../../src/check/progress/weeks.ts';
import { referenceOf, strokesOf, takeOf } from '../student.ts';

const TUNE = strokesOf("-3 -3'' 4 -4 4 -3'' -2 -3 4 6 6 5 -4 4 -3 -3'' 4 5 -5 6");
const REFERENCE = referenceOf(TUNE);

/** A take whose bends are so many cents off, with so many wrong notes. */
function week(date: string, cents: number, wrong: number): WeekTake {
  const strokes = TUNE.map((stroke, i) => {
    if (stroke.tab.bend > 0) return { ...stroke, changes: { cents } };
    return i % 4 === 0 && i / 4 < wrong ? { ...stroke, tab: { ...stroke.tab, hole: 9 } } : stroke;
  });
  return { name: date, date, checked: checkTake(takeOf(strokes), REFERENCE, { tolerances: TOLERANCES }) };
}

describe('a pupil over the weeks', () => {
  it('gets better if the trend leaves no doubt, judged separately for each measure', () => {
    const courses = coursesOf(
      [
        week('2026-03-02', 60, 1),
        week('2026-03-09', 47, 2),
        week('2026-03-16', 41, 1),
        week('2026-03-23', 30, 2),
      ],
      TOLERANCES,
    );
    const bends = courses.find(({ of }) => of === 'bend')!;
    expect(bends).toMatchObject({ verdict: 'better', unit: 'cents', moreIsBetter: false });
    // Least squares by hand: (-1.5 * 60 - 0.5 * 47 + 0.5 * 41 + 1.5 * 30) / 5 = -9.6 [calc].
    expect(bends.trend?.perWeek).toBeCloseTo(-9.6, 6);
    expect(courses.find(({ of }) => of === 'wrong-note')).toMatchObject({
      verdict: 'unclear',
      unit: 'in 100 notes',
    });
    expect(courses[0].verdict).toBe('better');
  });

  it('shows no trend with only two days', () => {
    const courses = coursesOf([week('2026-03-02', 60, 3), week('2026-03-09', 10, 0)], TOLERANCES);
    expect(courses.every(({ trend, verdict }) => trend === null && verdict === 'unclear')).toBe(true);
  });
});

describe('the band of a trend', () => {
  it('follows the usual formula: 30 24 27 18 20 by week', () => {
    const trend = trendOf([30, 24, 27, 18, 20].map((value, i) => ({ day: 7 * i, value })))!;
    // Residuals 1 -2.4 3.2 -3.2 1.4 [calc]: s = sqrt(29.2 / 3); at the ends t s sqrt(1 / 5 + 4 / 10), t 3.182.
    const s = Math.sqrt(29.2 / 3);
    expect(trendOn(trend, 0).value).toBeCloseTo(29, 6);
    expect(trendOn(trend, 0).uncertainty).toBeCloseTo(3.182 * s * Math.sqrt(0.2 + 0.4), 3);
    expect(trendOn(trend, 14).uncertainty).toBeCloseTo(3.182 * s * Math.sqrt(0.2), 3);
  });
});
