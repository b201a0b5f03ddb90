import type { BendSummary, LeftOut } from '../../check/progress/bends.ts';
import { formatTabNote, type TabStyle } from '../../tab/text.ts';
import { counted } from '../../text/counted.ts';
import type { BendsReport } from './document.ts';

/** Ends of the strips, in cents; what lies beyond is marked at the edge. */
const EDGE_CENTS = 75;
const WIDEST_STRIP = 61;
const NARROWEST_STRIP = 31;
const LABEL = 8;

/** The bends for a person: a line of numbers and a strip with a mark for every note. */
export function bendsText(report: BendsReport, style: TabStyle, columns: number): string {
  const { summaries, takes, leftOut, tolerance, judgeBy } = report;
  // An odd number of places, so that one is the target.
  const places = Math.max(NARROWEST_STRIP, Math.min(WIDEST_STRIP, columns - LABEL - 2)) | 1;
  const notes = summaries.reduce((sum, { count }) => sum + count, 0);
  const lines = [
    `${counted(notes, 'bend')} in ${counted(takes.length, 'take')}, what needs most work first; in tune means within ${tolerance} cents`,
    judgeBy === 'harp' ? 'judged by how each harp is tuned' : 'judged by equal temperament',
    '',
    `${' '.repeat(LABEL)}${scale(places)}`,
  ];
  for (const summary of summaries) {
    const tab = formatTabNote(summary, style);
    lines.push(`${tab.padEnd(LABEL)}${strip(summary, places, tolerance)}`);
    for (const row of numbers(summary)) lines.push(`${' '.repeat(LABEL)}${row}`);
  }
  lines.push('', 'strip: 1-9 notes at a place, ( ) tolerance, | target; left too deep, right short');
  if (summaries.some(({ over }) => over)) lines.push('of overbends (o) left flat, right sharp');
  lines.push(...leftOutInWords(leftOut));
  return `${lines.join('\n')}\n`;
}

/** `left out: 3 bends (2 too short, 1 hole in doubt)`; nothing when none was. */
export function leftOutInWords({ tooShort, tooNoisy, inDoubt }: LeftOut): string[] {
  const reasons = [
    ...(tooShort > 0 ? [`${tooShort} too short`] : []),
    ...(tooNoisy > 0 ? [`${tooNoisy} too noisy`] : []),
    ...(inDoubt > 0 ? [`${inDoubt} with the hole in doubt`] : []),
  ];
  const all = tooShort + tooNoisy + inDoubt;
  return all === 0 ? [] : [`left out: ${counted(all, 'bend')} (${reasons.join(', ')})`];
}

function scale(places: number): string {
  const left = `-${EDGE_CENTS}`;
  const right = `+${EDGE_CENTS}`;
  const side = (places - 1) / 2;
  return `${left.padEnd(side)}0${right.padStart(side)}`;
}

function strip({ notes }: BendSummary, places: number, tolerance: number): string {
  const middle = (places - 1) / 2;
  const placeOf = (cents: number): number =>
    Math.max(0, Math.min(places - 1, Math.round(middle + (cents / EDGE_CENTS) * middle)));
  const marks = Array.from({ length: places }, () => '.');
  marks[placeOf(-tolerance)] = '(';
  marks[placeOf(tolerance)] = ')';
  marks[middle] = '|';
  const counts = new Map<number, number>();
  for (const { cents } of notes) counts.set(placeOf(cents), (counts.get(placeOf(cents)) ?? 0) + 1);
  for (const [place, count] of counts) marks[place] = String(Math.min(9, count));
  return marks.join('');
}

function numbers(summary: BendSummary): string[] {
  const { count, medianCents, spreadCents, withinTolerance, short, tooDeep, steadinessCents, settleSec } =
    summary;
  const good = Math.round(withinTolerance * count);
  const [less, more] = summary.over ? ['flat', 'sharp'] : ['short', 'too deep'];
  const off = [...(short > 0 ? [`${short} ${less}`] : []), ...(tooDeep > 0 ? [`${tooDeep} ${more}`] : [])];
  const middle = `${medianCents > 0 ? '+' : ''}${Math.round(medianCents)}`;
  const held = count === 1 ? `at ${middle}` : `median ${middle}, spread ${Math.round(spreadCents)}`;
  const rows = [
    `${good} of ${count} in tune${off.length > 0 ? ` (${off.join(', ')})` : ''}; ${held} cents`,
    `steady within ${counted(Math.round(steadinessCents), 'cent')}, settled after ${settleSec.toFixed(2)} s${trendInWords(summary)}`,
  ];
  return rows;
}

function trendInWords({ trend }: BendSummary): string {
  if (trend === null) return '';
  const { direction, perWeek, uncertainty, days } = trend;
  const size = `${Math.abs(perWeek).toFixed(1)} ± ${uncertainty.toFixed(1)} cents a week`;
  if (direction === 'none') return `; no clear change over ${days} days`;
  return `; getting ${direction === 'nearer' ? 'nearer' : 'further off'} by ${size} over ${days} days`;
}
