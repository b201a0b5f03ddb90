import { firstInWords } from '../../check/advice/in-words.ts';
import type { Tolerances } from '../../check/finding.ts';
import { dayOf, type Trend } from '../../check/progress/trend.ts';
import type { Course, WeekTake } from '../../check/progress/weeks.ts';
import { type WeeksPanel, weeksChart } from '../../export/weeks-chart.ts';
import { csvCell } from '../../text/csv.ts';
import type { DateFrom } from '../hear/played-on.ts';
import { hung } from '../terminal/hung.ts';
import { oneLine } from '../terminal/message.ts';
import { scoreInWords } from './class-print.ts';

/** Takes of one pupil over weeks, and how each measure changed. */
export interface WeeksSource {
  readonly against: string;
  /** In order of time. */
  readonly takes: readonly (WeekTake & { readonly dateFrom: DateFrom | null })[];
  readonly courses: readonly Course[];
  readonly tolerances: Tolerances;
}

const round = (value: number, digits: number): number => Number(value.toFixed(digits));

/** The document `reedtrace-check-weeks`, version 1. */
export function weeksJson({ against, takes, courses, tolerances }: WeeksSource): string {
  const document = {
    format: 'reedtrace-check-weeks',
    version: 1,
    reference: { file: against },
    tolerances,
    takes: takes.map(({ name, date, dateFrom, checked }) => ({
      file: name,
      date,
      dateFrom,
      score: round(checked.attempt.score.score, 1),
      otherTune: checked.otherTune,
      scope: { ...checked.scope, lines: [...checked.scope.lines] },
      findings: checked.attempt.judgement.findings.length,
      workOn: checked.advice.map(({ message, practise }) => ({ message, practise })),
    })),
    method:
      'straight line through the means of the days (least squares); uncertainty is half the 95 % confidence interval of its slope (Student’s t)',
    courses: courses.map(({ of, measure, unit, moreIsBetter, values, trend, verdict }) => ({
      of,
      measure,
      unit,
      moreIsBetter,
      verdict,
      trend: trendJson(trend),
      values: values.map(({ name, date, value }) => ({ file: name, date, value: round(value, 2) })),
    })),
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}

const trendJson = (trend: Trend | null) =>
  trend === null
    ? null
    : {
        perWeek: round(trend.perWeek, 3),
        uncertaintyPerWeek: round(trend.uncertainty, 3),
        days: trend.days,
      };

/** One row per take and measure (RFC 4180). */
export function weeksCsv({ courses }: WeeksSource): string {
  const rows = courses.flatMap(({ of, measure, unit, values }) =>
    values.map(({ name, date, value }) =>
      [csvCell(name), date ?? '', of, csvCell(measure), csvCell(unit), round(value, 2)].join(','),
    ),
  );
  return ['file,date,of,measure,unit,value', ...rows].map((row) => `${row}\r\n`).join('');
}

/** Takes from up to this many days are listed one by one; beyond that, only the first and the last. */
const MOST_LISTED = 6;

/** The weeks as text: first what got better, with its numbers. */
export function weeksText({ against, takes, courses }: WeeksSource, columns: number): string {
  const days = new Set(takes.flatMap(({ date }) => date ?? []));
  const lines = [
    `${takes.length} takes compared with ${oneLine(against)}, ${spanInWords([...days].sort())}`,
    '',
    ...takes.map(({ name, date, checked }) => {
      const score = scoreInWords(checked, '-').padStart(3);
      return `${date ?? 'no date   '}  ${score} of 100  ${oneLine(name)}: ${firstInWords(checked)}`;
    }),
  ];
  for (const [verdict, title] of [
    ['better', 'Got better'],
    ['worse', 'Got worse'],
  ] as const) {
    const those = courses.filter((course) => course.verdict === verdict);
    if (those.length === 0) continue;
    lines.push('', title);
    for (const course of those) lines.push(...hung('-', courseInWords(course), columns));
  }
  const still = courses.filter(isStill);
  const unclear = courses.filter((course) => course.verdict === 'unclear' && !isStill(course));
  if (unclear.length > 0) {
    lines.push('', days.size < 3 ? 'So far (a trend needs three days or more)' : 'No clear change');
    for (const course of unclear) lines.push(...hung('-', courseInWords(course), columns));
  }
  if (still.length > 0)
    lines.push('', ...hung('unchanged throughout:', still.map(stillInWords).join('; '), columns));
  lines.push(
    '',
    ...hung(
      'trend:',
      'a straight line through the means of the days; ± is half of its 95 % confidence interval',
      columns,
    ),
  );
  return `${lines.join('\n')}\n`;
}

function spanInWords(days: readonly string[]): string {
  if (days.length === 0) return 'none with a date';
  if (days.length === 1) return `all from ${days[0]}`;
  return `on ${days.length} days from ${days[0]} to ${days[days.length - 1]}`;
}

const digitsOf = (unit: string): number => (unit === 'dB' ? 1 : 0);

/** Whether all takes have the same value. */
function isStill({ values, unit }: Course): boolean {
  const shown = values.map(({ value }) => value.toFixed(digitsOf(unit)));
  return shown.every((value) => value === shown[0]);
}

const stillInWords = ({ measure, unit, values }: Course): string =>
  `${measure}, ${values[0].value.toFixed(digitsOf(unit))} ${unit}`;

/** `late notes: 21, 12, 4 in 100 notes; better by 5.6 ± 2.0 a week` */
function courseInWords(course: Course): string {
  const { measure, unit, values } = course;
  const shown = values.map(({ value }) => value.toFixed(digitsOf(unit)));
  const list =
    shown.length <= MOST_LISTED ? shown.join(', ') : `${shown[0]} at first, ${shown[shown.length - 1]} now`;
  return `${measure}: ${list} ${unit}${trendWords(course) === '' ? '' : `; ${trendWords(course)}`}`;
}

function trendWords({ trend, verdict }: Course): string {
  if (trend === null) return '';
  const size = `${Math.abs(trend.perWeek).toFixed(1)} ± ${trend.uncertainty.toFixed(1)} a week`;
  if (verdict === 'unclear') return `${trend.perWeek < 0 ? 'down' : 'up'} by ${size}, which could be chance`;
  return `${verdict} by ${size}`;
}

/** The weeks as a stand-alone picture; null when no take has a date. */
export function weeksSvg({ against, courses, tolerances }: WeeksSource): string | null {
  const told = courses.filter((course) => course.of === 'score' || !isStill(course));
  const panels = told.flatMap((course): WeeksPanel[] => {
    const { measure, unit, values, trend, of } = course;
    const points = values.flatMap(({ name, date, value }) =>
      date === null
        ? []
        : [{ day: dayOf(date), value, told: `${value.toFixed(digitsOf(unit))} ${unit} in ${name}, ${date}` }],
    );
    if (points.length === 0) return [];
    const words = trendWords(course);
    return [
      {
        name: measure.charAt(0).toUpperCase() + measure.slice(1),
        unit,
        most: /^(?:%|of 100|in 100 )/.test(unit) ? 100 : null,
        words: words === '' ? 'a trend needs three days or more' : words,
        points,
        trend,
        goodUpTo: of === 'bend' ? tolerances.bendCents : null,
      },
    ];
  });
  return panels.length === 0 ? null : weeksChart(`Compared with ${against}, take by take`, panels);
}
