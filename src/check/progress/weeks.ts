import type { Attempt } from '../attempts.ts';
import type { CheckedTake } from '../check-take.ts';
import type { Tolerances } from '../finding.ts';
import { type MeasureOf, measuresOf } from './measures.ts';
import { dayOf, type Trend, trendOf } from './trend.ts';

/** One of several takes of a pupil, and the day on which it was played. */
export interface WeekTake {
  readonly name: string;
  /** `YYYY-MM-DD`; null when unknown. */
  readonly date: string | null;
  readonly checked: CheckedTake;
}

/** How one measure changed over the weeks. */
export interface Course {
  readonly of: 'score' | MeasureOf;
  readonly measure: string;
  readonly unit: string;
  /** True where a larger value is better. */
  readonly moreIsBetter: boolean;
  /** A value for each take in which it could be measured, in the order of the takes. */
  readonly values: readonly { readonly name: string; readonly date: string | null; readonly value: number }[];
  /** A straight line through the daily means, in the unit of the values; null with fewer than three days. */
  readonly trend: Trend | null;
  /** `unclear` when it could be chance, or with fewer than three days. */
  readonly verdict: 'better' | 'worse' | 'unclear';
}

/**
 * Score, each kind of finding, each line, each bend and what is measured in all notes, over dated takes of one pupil and one
 * reference: what got better first, then what got worse.
 * @param all  in order of time; those of another tune are left out
 */
export function coursesOf(all: readonly WeekTake[], tolerances: Tolerances): Course[] {
  const takes = all.filter(({ checked }) => !checked.otherTune);
  const attempts = takes.map(({ checked }) => checked.attempt);
  const order = { better: 0, worse: 1, unclear: 2 };
  const courses = [
    courseOf(takes, {
      of: 'score',
      measure: 'score',
      unit: 'of 100',
      moreIsBetter: true,
      valueIn: ({ score }) => score.score,
    }),
    ...measuresOf(attempts, tolerances).map(({ of, name, rate, values }) =>
      courseOf(takes, {
        of,
        measure: name,
        unit: rate.unit,
        moreIsBetter: of === 'line',
        valueIn: (attempt) => {
          const each = values(attempt);
          return each.length === 0
            ? null
            : rate.shown(each.reduce((sum, value) => sum + value, 0) / each.length);
        },
      }),
    ),
  ];
  return courses
    .filter(({ values }) => values.length > 0)
    .sort((a, b) => order[a.verdict] - order[b.verdict]);
}

interface Followed extends Pick<Course, 'of' | 'measure' | 'unit' | 'moreIsBetter'> {
  readonly valueIn: (attempt: Attempt) => number | null;
}

function courseOf(takes: readonly WeekTake[], { valueIn, ...about }: Followed): Course {
  const values = takes.flatMap(({ name, date, checked }) => {
    const value = valueIn(checked.attempt);
    return value === null ? [] : [{ name, date, value }];
  });
  const trend = trendOf(
    values.flatMap(({ date, value }) => (date === null ? [] : [{ day: dayOf(date), value }])),
  );
  const falls = trend?.direction === 'nearer';
  return {
    ...about,
    values,
    trend,
    verdict:
      trend === null || trend.direction === 'none'
        ? 'unclear'
        : falls === about.moreIsBetter
          ? 'worse'
          : 'better',
  };
}
