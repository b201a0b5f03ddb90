import { type Trend, trendOn } from '../check/progress/trend.ts';
import { escapeXml } from '../text/xml.ts';

/** One measure over time. */
export interface WeeksPanel {
  readonly name: string;
  readonly unit: string;
  /** The largest possible value; null for none. */
  readonly most: number | null;
  /** A few words below the name: `better by 4 ± 1 a week`. */
  readonly words: string;
  readonly points: readonly { readonly day: number; readonly value: number; readonly told: string }[];
  readonly trend: Trend | null;
  /** Values up to this are good: the band; null for none. */
  readonly goodUpTo: number | null;
}

const SIZE = { margin: 20, label: 320, plot: 560, row: 92, title: 40, axis: 30, inset: 12 };
const INK = '#222222';
const SOFT = '#555555';
const POINT = '#1f5f99';
const DAY_MS = 86_400_000;
/** Dates below the chart are at least this far apart, in pixels. */
const DATE_PX = 90;
/** Steps that make a scale easy to read. */
const STEPS = [1, 2, 5];

/**
 * Measures over days as a stand-alone SVG picture: a row for each, a dot for each take, the trend as a line with its 95
 * % confidence band, and words. All rows share the days.
 */
export function weeksChart(title: string, panels: readonly WeeksPanel[]): string {
  const width = 2 * SIZE.margin + SIZE.label + SIZE.plot + SIZE.inset;
  const height = 2 * SIZE.margin + SIZE.title + panels.length * SIZE.row + SIZE.axis;
  const days = panels.flatMap(({ points }) => points.map(({ day }) => day));
  const [first, last] = [Math.min(...days), Math.max(...days)];
  const left = SIZE.margin + SIZE.label;
  const x = (day: number): number =>
    round(left + SIZE.inset + ((day - first) / Math.max(1, last - first)) * (SIZE.plot - 2 * SIZE.inset));
  const bottom = SIZE.margin + SIZE.title + panels.length * SIZE.row;
  return `${[
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-labelledby="weeks-title weeks-desc" font-family="sans-serif" font-size="13" fill="${INK}">`,
    `<title id="weeks-title">${escapeXml(title)}</title>`,
    `<desc id="weeks-desc">${escapeXml(panels.map(({ name, words }) => `${name}: ${words}`).join('; '))}</desc>`,
    `<rect width="${width}" height="${height}" fill="#ffffff"/>`,
    `<text x="${SIZE.margin}" y="${SIZE.margin + 16}" font-size="16" font-weight="bold">${escapeXml(title)}</text>`,
    ...panels.flatMap((panel, i) => panelMarks(panel, SIZE.margin + SIZE.title + i * SIZE.row, left, x)),
    ...datesOf(
      [...new Set(days)].sort((a, b) => a - b),
      x,
    ).map(
      (day) =>
        `<text x="${x(day)}" y="${bottom + 18}" text-anchor="${x(day) > left + SIZE.plot - DATE_PX / 2 ? 'end' : 'middle'}" fill="${SOFT}">${dateText(day)}</text>`,
    ),
    '</svg>',
  ].join('\n')}\n`;
}

function panelMarks(
  { name, unit, most, words, points, trend, goodUpTo }: WeeksPanel,
  top: number,
  left: number,
  x: (day: number) => number,
): string[] {
  const days = points.map(({ day }) => day);
  const ends = [Math.min(...days), Math.max(...days)];
  const line = trend === null ? [] : ends.map((day) => ({ day, ...trendOn(trend, day) }));
  const largest = Math.max(...points.map(({ value }) => value), ...line.map(({ value }) => value), 1e-9);
  const highest = Math.min(stepOf(largest), most ?? Number.POSITIVE_INFINITY);
  const [from, to] = [top + 8, top + SIZE.row - 10];
  const y = (value: number): number =>
    round(to - (Math.max(0, Math.min(highest, value)) / highest) * (to - from));
  const marks = [
    `<text x="${SIZE.margin}" y="${top + 26}" font-weight="bold">${escapeXml(name)}</text>`,
    ...wrapped(words).map(
      (row, i) =>
        `<text x="${SIZE.margin}" y="${top + 44 + 16 * i}" font-size="12" fill="${SOFT}">${escapeXml(row)}</text>`,
    ),
  ];
  if (goodUpTo !== null)
    marks.push(
      `<rect x="${left}" y="${y(goodUpTo)}" width="${SIZE.plot}" height="${round(to - y(goodUpTo))}" fill="#e3efe3"/>`,
    );
  for (const value of [0, highest]) {
    marks.push(
      `<line x1="${left}" y1="${y(value)}" x2="${left + SIZE.plot}" y2="${y(value)}" stroke="${value === 0 ? INK : '#cccccc'}"/>`,
      `<text x="${left - 8}" y="${y(value) + 4}" text-anchor="end" font-size="12" fill="${SOFT}">${value}${value === 0 ? '' : ` ${escapeXml(unit)}`}</text>`,
    );
  }
  if (trend !== null) marks.push(...trendMarks(trend, ends, x, y));
  for (const { day, value, told } of points)
    marks.push(
      `<circle cx="${x(day)}" cy="${y(value)}" r="4.5" fill="${POINT}" fill-opacity="0.7"><title>${escapeXml(told)}</title></circle>`,
    );
  return marks;
}

/** Number of steps in which the band, which is curved, is drawn. */
const BAND_STEPS = 16;

function trendMarks(
  trend: Trend,
  [from, to]: readonly number[],
  x: (day: number) => number,
  y: (value: number) => number,
): string[] {
  const days = Array.from({ length: BAND_STEPS + 1 }, (_, i) => from + ((to - from) * i) / BAND_STEPS);
  const edge = (sign: number) => (day: number) => {
    const { value, uncertainty } = trendOn(trend, day);
    return `${x(day)} ${y(value + sign * uncertainty)}`;
  };
  const band = [...days.map(edge(1)), ...days.toReversed().map(edge(-1))];
  const line = [from, to].map((day) => `${x(day)} ${y(trendOn(trend, day).value)}`);
  return [
    `<path d="M${band.join('L')}Z" fill="${POINT}" fill-opacity="0.13"/>`,
    `<path d="M${line.join('L')}" stroke="${POINT}" stroke-width="2" fill="none"/>`,
  ];
}

/** A round step for a scale up to this value. */
function stepOf(most: number): number {
  const decade = 10 ** Math.floor(Math.log10(most));
  return decade * (STEPS.find((step) => most <= step * decade) ?? 10);
}

/** As many of the days as there is room for dates, including the first and the last if possible. */
function datesOf(days: readonly number[], x: (day: number) => number): number[] {
  const last = days[days.length - 1];
  const kept: number[] = [];
  for (const day of days) {
    const before = kept[kept.length - 1];
    const room = before === undefined || x(day) - x(before) >= DATE_PX;
    if (room && (day === last || x(last) - x(day) >= DATE_PX)) kept.push(day);
  }
  return kept;
}

const LETTERS_A_ROW = 34;

/** Words wrapped to fit beside the plot. */
function wrapped(words: string): string[] {
  const rows: string[] = [];
  for (const word of words.split(' ')) {
    const row = rows[rows.length - 1];
    if (row !== undefined && row.length + word.length < LETTERS_A_ROW)
      rows[rows.length - 1] = `${row} ${word}`;
    else rows.push(word);
  }
  return rows;
}

const dateText = (day: number): string => new Date(day * DAY_MS).toISOString().slice(0, 10);
const round = (value: number): number => Number(value.toFixed(1));
