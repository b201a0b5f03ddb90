import { studentT } from './chance.ts';

/** How something changes over time. */
export interface Trend {
  /** Change per week, in the unit of the values. */
  readonly perWeek: number;
  /** Half the width of its 95 % confidence interval. */
  readonly uncertainty: number;
  /** `nearer` to 0 or `further` from it when the interval leaves no doubt, else `none`. */
  readonly direction: 'nearer' | 'further' | 'none';
  /** Number of days with takes. */
  readonly days: number;
  /** Where the line passes in the middle of the days, and half the width of the 95 % interval there. */
  readonly middle: { readonly day: number; readonly value: number; readonly uncertainty: number };
}

/**
 * The value of a trend line on a day, and half the width of its 95 % confidence band there (the usual one for a
 * straight line).
 */
export function trendOn(
  { perWeek, uncertainty, middle }: Trend,
  day: number,
): { value: number; uncertainty: number } {
  const weeks = (day - middle.day) / DAYS_A_WEEK;
  return {
    value: middle.value + perWeek * weeks,
    uncertainty: Math.hypot(middle.uncertainty, uncertainty * weeks),
  };
}

const DAY_MS = 86_400_000;

/** Days since any fixed day. @param date  `YYYY-MM-DD` */
export const dayOf = (date: string): number => Date.parse(date) / DAY_MS;

/** A value on a day. */
export interface Dated {
  /** Days since any fixed day. */
  readonly day: number;
  readonly value: number;
}

/** A line through two days fits exactly, so its uncertainty needs a third. */
const FEWEST_DAYS = 3;
const DAYS_A_WEEK = 7;

/**
 * Straight line through the daily means (least squares), with the uncertainty of its slope. Each day counts
 * once, since the notes of one day are not independent.
 * @param values distances from what is wanted, ≥ 0
 * @returns null when there are fewer than three days
 */
export function trendOf(values: readonly Dated[]): Trend | null {
  const byDay = new Map<number, number[]>();
  for (const { day, value } of values) byDay.set(day, [...(byDay.get(day) ?? []), value]);
  const days = [...byDay].map(([day, all]) => ({ week: day / DAYS_A_WEEK, mean: mean(all) }));
  const n = days.length;
  if (n < FEWEST_DAYS) return null;
  const meanWeek = mean(days.map(({ week }) => week));
  const meanValue = mean(days.map((day) => day.mean));
  let square = 0;
  let product = 0;
  for (const day of days) {
    square += (day.week - meanWeek) ** 2;
    product += (day.week - meanWeek) * (day.mean - meanValue);
  }
  const perWeek = product / square;
  const left = days.reduce(
    (sum, day) => sum + (day.mean - meanValue - perWeek * (day.week - meanWeek)) ** 2,
    0,
  );
  const freedom = n - 2;
  const uncertainty = studentT(freedom) * Math.sqrt(left / freedom / square);
  const clear = Math.abs(perWeek) > uncertainty && perWeek !== 0;
  return {
    perWeek,
    uncertainty,
    direction: !clear ? 'none' : perWeek < 0 ? 'nearer' : 'further',
    days: n,
    middle: {
      day: meanWeek * DAYS_A_WEEK,
      value: meanValue,
      uncertainty: studentT(freedom) * Math.sqrt(left / freedom / n),
    },
  };
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
