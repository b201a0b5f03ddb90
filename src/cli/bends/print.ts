import type { DoubtfulBend, LeftOut } from '../../check/bends/collect.ts';
import { approachInWords, type PracticeBend } from '../../check/bends/practice.ts';
import type { BendSummary } from '../../check/bends/summary.ts';
import { centsInWords } from '../../export/page/practice-page.ts';
import { formatTabNote, type TabStyle } from '../../tab/text.ts';
import { counted } from '../../text/counted.ts';
import { hung } from '../terminal/hung.ts';
import type { BendsReport } from './document.ts';
import { trendInWords } from './trend-words.ts';

/** Ends of the strips, in cents; values beyond are marked at the edge. */
const EDGE_CENTS = 75;
const WIDEST_STRIP = 61;
const NARROWEST_STRIP = 31;
const LABEL = 8;

/** The bends as text: a line of numbers, and a strip with a mark for every note. */
export function bendsText(report: BendsReport, style: TabStyle, columns: number): string {
  const { summaries, takes, leftOut, doubtful, plan, tolerance, judgeBy } = report;
  // An odd number of places, so that the middle one is the target.
  const places = Math.max(NARROWEST_STRIP, Math.min(WIDEST_STRIP, columns - LABEL - 2)) | 1;
  const notes = summaries.reduce((sum, { count }) => sum + count, 0);
  const lines = [
    `${counted(notes, 'bend')} in ${counted(takes.length, 'take')}, those that need most work first; in tune means within ${tolerance} cents`,
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
  for (const each of doubtful) lines.push(...hung('  doubtful:', doubtInWords(each, style), columns));
  if (plan !== null) {
    lines.push('', `Practice, about ${plan.minutes === 1 ? 'one minute' : `${plan.minutes} minutes`}`);
    for (const bend of plan.bends) lines.push('', ...practiceLines(bend, style, columns));
    lines.push('', ...plan.cautions.flatMap((caution) => hung('-', caution, columns)));
  }
  return `${lines.join('\n')}\n`;
}

/** `at 3.2 s in lesson.m4a: -3' 48 cents too deep, or -3'' 52 cents short`; nothing says which was meant. */
function doubtInWords({ takeName, onsetSec, readings }: DoubtfulBend, style: TabStyle): string {
  const each = readings.map(({ tab, cents }) => {
    const name = formatTabNote(tab, style);
    const bent = tab.bend > 0 || tab.over;
    return bent ? `${name} ${centsInWords(cents, tab.over)}` : `${name} unbent`;
  });
  return `at ${onsetSec.toFixed(1)} s in ${takeName}: ${each.join(', or ')}; \`--against\` a tune says which was meant`;
}

function practiceLines(bend: PracticeBend, style: TabStyle, columns: number): string[] {
  const { tab, targetHz, places, approaches, best, typical, listen, steps } = bend;
  const name = formatTabNote(tab, style);
  const attempt = ({ cents, takeName, onsetSec }: PracticeBend['best']): string =>
    `${centsInWords(cents, tab.over)} (${takeName}, ${onsetSec.toFixed(1)} s)`;
  return [
    `${name}  target ${targetHz.toFixed(1)} Hz`,
    ...hung('  where:', places.length === 0 ? 'nowhere in this tune' : places.join('; '), columns),
    ...(approaches.length === 0 ? [] : hung('  comes:', approaches.map(approachInWords).join('; '), columns)),
    ...hung(
      '  yours:',
      best === typical ? attempt(best) : `best ${attempt(best)}; typical ${attempt(typical)}`,
      columns,
    ),
    ...listen.flatMap((text) => hung('  listen:', text, columns)),
    ...steps.flatMap(({ sec, text }, i) => hung(`  ${i + 1}.`, `${text} (${sec} s)`, columns)),
  ];
}

/** `left out: 3 bends (2 too short, 1 doubtful hole)`; empty when none was. */
export function leftOutInWords({ tooShort, tooNoisy, inDoubt, inChord, notAsked }: LeftOut): string[] {
  const reasons = [
    ...(tooShort > 0 ? [`${tooShort} too short`] : []),
    ...(tooNoisy > 0 ? [`${tooNoisy} too noisy`] : []),
    ...(inDoubt > 0 ? [`${inDoubt} where nothing shows what was meant`] : []),
    ...(inChord > 0 ? [`${inChord} with other holes sounding too`] : []),
    ...(notAsked > 0 ? [`${notAsked} where the tune has no bend`] : []),
  ];
  const all = tooShort + tooNoisy + inDoubt + inChord + notAsked;
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
  const last = Math.round(count === 1 ? Math.abs(medianCents) : spreadCents);
  const held = count === 1 ? `at ${middle}` : `median ${middle}, spread ${last}`;
  const rows = [
    `${good} of ${count} in tune${off.length > 0 ? ` (${off.join(', ')})` : ''}; ${held} ${last === 1 ? 'cent' : 'cents'}`,
    `steady within ${counted(Math.round(steadinessCents), 'cent')}, settled after ${settleSec.toFixed(2)} s${trendInWords(summary)}`,
  ];
  return rows;
}
