import { barTicks } from '../music/rhythm/metre.ts';
import { leftOutInWords } from '../tab/left-out-words.ts';
import { formatPlayedNote, legend, ornamentLegend, severalLegend, type TabStyle } from '../tab/text.ts';
import { readsAsWords } from '../tab/text-file.ts';
import { goesOn, printSyllable } from '../take/words.ts';
import { textColumns } from '../text/width.ts';
import { groupsToldOnce, phrasesOf, type Repeats } from './repeats.ts';
import { leftOverInWords, type Score, type ScoreNote } from './score.ts';

export interface TabOptions {
  readonly style: TabStyle;
  /** Longest line, in columns. */
  readonly columns: number;
  /** Write each length that is not one beat (`4:2`), and rests (`r:1`). */
  readonly lengths: boolean;
  /** How to write a line that is repeated note for note; in full if omitted. */
  readonly repeats?: Repeats;
}

/** A stretch of columns that stays together: tab above, one row of words for each verse below. */
interface Cell {
  readonly rows: readonly string[];
  readonly width: number;
  /** Columns of extra space before it, beyond one; for free time. */
  readonly lead: number;
}

const GAP = 1;

/**
 * A score as plain tab that `parseTab` reads: one line per phrase, bar lines, words under their notes; lines that begin
 * with `#` hold the heading, and which phrases repeat earlier ones.
 */
export function writeTab(score: Score, options: TabOptions): string {
  const lines = heading(score, options.style);
  const once = options.repeats === 'once';
  const phrases = once
    ? groupsToldOnce(score, options.style)
    : phrasesOf(score, options.style).map((line) => ({ ...line, lines: [line] }));
  for (const [i, { first, last, remark, same, lines: repeated }] of phrases.entries()) {
    lines.push('', ...(remark === null ? [] : [`# ${remark}`]));
    if (once && same !== null) {
      const words = repeated.flatMap((line) => wordsOf(score, line.first, line.last));
      lines.push(...words.map((text) => `# ${text}`));
      continue;
    }
    const next = phrases[i + 1]?.first ?? score.notes.length;
    for (const line of breakLines(cellsOf(score, first, last, next, options), options.columns)) {
      const [tab, ...words] = printRows(line, score.verses);
      lines.push(tab, ...words.map((row) => (readsAsWords(row, options.style) ? row : `# ${row}`)));
    }
  }
  const left = leftOverInWords(score);
  if (left.length > 0) lines.push('', '# Words without a note:', ...left.map((text) => `# ${text}`));
  const leftOut = leftOutInWords(score.take.leftOut ?? []);
  if (leftOut.length > 0) lines.push('', ...leftOut.map((sentence) => `# ${sentence}`));
  return `${lines.join('\n')}\n`;
}

/** The words of some notes, one line for each verse that has any there. */
export function wordsOf({ notes, verses }: Score, first: number, last: number): string[] {
  const lines: string[] = [];
  for (let verse = 0; verse < verses; verse++) {
    let text = '';
    for (const { sung } of notes.slice(first, last + 1)) {
      const here = sung[verse];
      if (here?.kind === 'begin') text += `${here.text}${goesOn(here) ? '' : ' '}`;
    }
    if (text.trim() !== '') lines.push(text.trim());
  }
  return lines;
}

function heading({ title, take, beats }: Score, style: TabStyle): string[] {
  const { harp } = take;
  const time =
    beats.metre === null
      ? 'free time'
      : `${beats.metre.count}/${beats.metre.unit}, ${Math.round(beats.tempoBpm)} quarter notes a minute${beats.swing ? ', swing' : ''}`;
  return [
    `# ${title.replace(/\s+/g, ' ')}`,
    `# ${harp.key} harp, ${harp.tuning} tuning; ${time}`,
    ...[legend(style), severalLegend(take.notes, style), ornamentLegend(take.notes, style)]
      .filter((line) => line !== '')
      .map((line) => `# ${line}`),
  ];
}

function cellsOf(score: Score, first: number, last: number, next: number, options: TabOptions): Cell[] {
  const cells: Cell[] = [];
  const lead = spacing(score);
  for (let i = first; i <= last; i++) {
    if (startsBar(score, i, i === first)) cells.push(barCell(score.verses));
    cells.push(noteCell(score, score.notes[i], options, i === first ? 0 : lead(i)));
    const rest = restAfter(score, i, next);
    if (options.lengths && rest > 0) cells.push(plainCell(`r${lengthText(rest)}`, score.verses));
  }
  return cells;
}

/** A bar line comes before the first note of each bar, but not at the beginning of a line. */
export function startsBar({ notes, beats }: Score, index: number, firstOfLine: boolean): boolean {
  if (beats.metre === null || firstOfLine || index === 0) return false;
  const length = barTicks(beats.metre);
  return Math.floor(notes[index].atTicks / length) > Math.floor(notes[index - 1].atTicks / length);
}

/** Columns that a step takes in free time, beyond the usual ones. */
const USUAL_STEP_COLUMNS = 3;
const MOST_COLUMNS = 16;

/** In free time notes are spaced by time; with bars, evenly. */
function spacing({ notes, beats }: Score): (index: number) => number {
  if (beats.metre !== null || notes.length < 2) return () => 0;
  const steps = notes.slice(1).map(({ played }, i) => played.onsetSec - notes[i].played.onsetSec);
  const usual = steps.toSorted((a, b) => a - b)[steps.length >> 1];
  return (index) =>
    usual > 0 ? Math.min(MOST_COLUMNS, Math.round((USUAL_STEP_COLUMNS * steps[index - 1]) / usual)) : 0;
}

function restAfter({ notes }: Score, index: number, next: number): number {
  const { atTicks, lengthTicks } = notes[index];
  const following = notes[Math.min(index + 1, next)];
  return following === undefined ? 0 : following.atTicks - atTicks - lengthTicks;
}

/** `:2` for two beats; thirds as fractions. */
function lengthText(ticks: number): string {
  if (ticks === 12) return '';
  if (ticks % 3 === 0) return `:${ticks / 12}`;
  const [over, under] = ticks % 4 === 0 ? [ticks / 4, 3] : [ticks, 12];
  return `:${over}/${under}`;
}

function noteCell(score: Score, note: ScoreNote, { style, lengths }: TabOptions, lead: number): Cell {
  const tab = `${formatPlayedNote(note.played, style)}${lengths ? lengthText(note.lengthTicks) : ''}`;
  const rows = [tab];
  for (let verse = 0; verse < score.verses; verse++) rows.push(wordText(note, verse));
  return { rows, width: Math.max(...rows.map(textColumns)), lead };
}

/** A syllable, with a hyphen if its word continues; a dash where one is held. */
export function wordText({ sung }: ScoreNote, verse: number): string {
  const here = sung[verse];
  if (here === undefined) return '';
  if (here.kind === 'hold') return here.inWord ? '-' : '_';
  return printSyllable(here);
}

function plainCell(text: string, verses: number): Cell {
  return { rows: [text, ...new Array<string>(verses).fill('')], width: textColumns(text), lead: 0 };
}

function barCell(verses: number): Cell {
  return plainCell('|', verses);
}

function breakLines(cells: readonly Cell[], columns: number): Cell[][] {
  const lines: Cell[][] = [];
  let room = -1;
  for (const [i, cell] of cells.entries()) {
    const width = GAP + cell.lead + cell.width;
    // A bar line goes with the note after it.
    const bar = cell.rows[0] === '|' && i + 1 < cells.length ? GAP + cells[i + 1].width : 0;
    if (lines.length === 0 || width + bar > room) {
      lines.push([]);
      room = columns + GAP;
    }
    if (cell.rows[0] === '|' && lines[lines.length - 1].length === 0) continue;
    lines[lines.length - 1].push(cell);
    room -= width;
  }
  return lines.filter((line) => line.length > 0);
}

function printRows(cells: readonly Cell[], verses: number): string[] {
  const printed: string[] = [];
  for (let row = 0; row <= verses; row++) {
    let text = '';
    for (const [i, cell] of cells.entries()) {
      const pad = i === 0 ? 0 : GAP + cell.lead;
      const word = cell.rows[row];
      text += `${' '.repeat(pad)}${word}${' '.repeat(cell.width - textColumns(word))}`;
    }
    if (row === 0 || text.trim() !== '') printed.push(text.trimEnd());
  }
  return printed;
}
