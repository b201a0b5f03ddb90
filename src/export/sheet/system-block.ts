import { ornamentsInWords } from '../../tab/ornament.ts';
import { formatPlayedNote, type TabStyle } from '../../tab/text.ts';
import { goesOn, printSyllable } from '../../take/words.ts';
import type { Score, ScoreNote, Sung } from '../score.ts';
import type { Block } from './block.ts';
import { widthOf } from './fonts.ts';
import { type Mark, moved } from './marks.ts';
import type { System } from './read-system.ts';
import { lowestBetween } from './skyline.ts';

/** Sizes of what is under the staff, in points. */
const TAB_SIZE = 15;
export const WORDS_SIZE = 11.5;
const DONE_SIZE = 9;
const SECTION_SIZE = 10.5;
/** Room between two tabs. */
const BESIDE_TAB = 7;
const HARD = '#f3dfb3';

/** Tab in a row of its own above the words, or each tab as close under its note as the staff allows. */
export type TabPlace = 'row' | 'notes';

export interface RowOptions {
  readonly style: TabStyle;
  readonly place: TabPlace;
  /** Verses that are printed under the notes, the first at 0. */
  readonly verses: readonly number[];
  readonly hard: ReadonlyMap<number, string>;
}

/** Words with tab in them, for print: with a proper minus sign where text files have a hyphen. */
export const printed = (words: string): string => words.replace(/(?<![\p{L}\p{N}])-(?=\d)/gu, '−');

/** The tab of a note as it is printed. */
export function printedTab({ played }: ScoreNote, style: TabStyle): string {
  return printed(formatPlayedNote(played, style));
}

/** Ornaments of a note that tab has no sign for. */
const doneTo = ({ played }: ScoreNote): string => ornamentsInWords(played).join(', ');

/** Width of each row under a note, in points; 0 for an empty one. */
function rowWidths(note: ScoreNote, { style, verses }: Pick<RowOptions, 'style' | 'verses'>): number[] {
  return [
    widthOf(printedTab(note, style), TAB_SIZE, 'bold'),
    widthOf(doneTo(note), DONE_SIZE, 'regular'),
    ...verses.map((verse) => {
      const sung = note.sung[verse];
      if (sung?.kind !== 'begin') return 0;
      return widthOf(`${printSyllable(sung)}${goesOn(sung) ? '-' : ''}`, WORDS_SIZE, 'regular');
    }),
  ];
}

/**
 * Text that, set in the size of the words, is as wide as the distance that a note needs from the next: everything is
 * centred under its note, so half of what is under the one plus half of what is under the other.
 * @param next   null after the last note of a line
 * @param wider  how much wider the font of the tab may be than that of the sheet
 */
export function spaceUnder(
  note: ScoreNote,
  next: ScoreNote | null,
  rows: Pick<RowOptions, 'style' | 'verses'>,
  wider = 1,
): string {
  const own = rowWidths(note, rows);
  const others = next === null ? own : rowWidths(next, rows);
  const needed = own.map((width, row) => {
    const half = (width + others[row]) / 2;
    return half === 0 ? 0 : (row === 0 ? wider : 1) * half + BESIDE_TAB;
  });
  return 'n'.repeat(Math.ceil(Math.max(...needed) / widthOf('n', WORDS_SIZE, 'regular')));
}

/** A system with its tab and words below. */
export function systemBlock(score: Score, system: System, options: RowOptions): Block {
  const marks: Mark[] = [];
  const dy = -system.top;
  const notes = [...system.heads]
    .map(([index, x]) => ({ note: score.notes[index], x }))
    .sort((a, b) => a.x - b.x);
  let bottom = Math.max(system.bottom, system.staffBottom + 4) + dy;
  const row = bottom + 4;
  for (const { note, x } of notes) {
    const text = printedTab(note, options.style);
    const wide = widthOf(text, TAB_SIZE, 'bold');
    const tabTop = options.place === 'row' ? row : underNote(system, x, wide) + dy;
    bottom = Math.max(bottom, tabTop + TAB_SIZE + 4);
    if (options.hard.has(note.index)) {
      const width = wide + 5;
      marks.push({
        kind: 'rect',
        x: x - width / 2,
        y: tabTop,
        width,
        height: TAB_SIZE + 3,
        radius: 3,
        fill: HARD,
      });
    }
    marks.push({
      kind: 'text',
      text,
      x,
      y: tabTop + TAB_SIZE - 1,
      size: TAB_SIZE,
      bold: true,
      anchor: 'middle',
    });
  }
  if (notes.some(({ note }) => doneTo(note) !== '')) {
    for (const { note, x } of notes) {
      const text = doneTo(note);
      if (text === '') continue;
      marks.push({
        kind: 'text',
        text,
        x,
        y: bottom + DONE_SIZE - 2,
        size: DONE_SIZE,
        bold: false,
        anchor: 'middle',
      });
    }
    bottom += DONE_SIZE + 3;
  }
  for (const verse of options.verses) {
    const row = wordRow(notes, verse, bottom + WORDS_SIZE, system.width);
    if (row.length === 0) continue;
    marks.push(...row);
    bottom += WORDS_SIZE * 1.25;
  }
  marks.push(...system.marks.map((mark) => moved(mark, 0, dy)));
  return { height: bottom + 2, marks, gap: 12 };
}

/** The block of a system, with the name of the section that begins with its first note above it. */
export function underSection({ height, marks, gap }: Block, { heads }: System, { notes }: Score): Block {
  const name = notes[Math.min(...heads.keys())]?.section;
  if (name === undefined) return { height, marks, gap };
  // The clef reaches above the staff, and the 8 of an octave above the clef.
  const room = SECTION_SIZE + 12;
  const head: Mark = {
    kind: 'text',
    text: name,
    x: 0,
    y: SECTION_SIZE - 1,
    size: SECTION_SIZE,
    bold: true,
    anchor: 'start',
  };
  const below = marks.map((mark) => moved(mark, 0, room));
  return { height: height + room, marks: [head, ...below], gap, beginsSection: true };
}

/** Top of tab that is placed under its own note: below the staff, and below everything drawn there. */
function underNote({ marks, staffBottom }: System, x: number, width: number): number {
  return Math.max(staffBottom, lowestBetween(marks, x - width / 2, x + width / 2)) + 3;
}

/** The words of one verse, centred under their notes where there is room. */
function wordRow(
  notes: readonly { readonly note: ScoreNote; readonly x: number }[],
  verse: number,
  y: number,
  right: number,
): Mark[] {
  const marks: Mark[] = [];
  const space = widthOf(' ', WORDS_SIZE, 'regular');
  const text = (words: string, x: number, anchor: 'start' | 'middle' = 'start'): Mark => ({
    kind: 'text',
    text: words,
    x,
    y,
    size: WORDS_SIZE,
    bold: false,
    anchor,
  });
  let end = 0;
  let open: Extract<Sung, { kind: 'begin' }> | null = null;
  for (const [i, { note, x }] of notes.entries()) {
    const sung = note.sung[verse];
    if (sung?.kind === 'hold' && i === 0) end = x - 8;
    if (sung?.kind === 'hold' && !sung.inWord) {
      marks.push({ kind: 'rect', x: end + 2, y: y - 0.3, width: Math.max(0, x + 4 - end - 2), height: 0.6 });
      end = x + 4;
    }
    if (sung?.kind !== 'begin') continue;
    const width = widthOf(sung.text, WORDS_SIZE, 'regular');
    const begin = Math.max(x - width / 2, end + (end === 0 ? 0 : space));
    if (open !== null && goesOn(open)) marks.push(...hyphens(end, begin, text));
    marks.push(text(sung.text, begin));
    end = begin + width;
    open = sung;
  }
  if (open !== null && goesOn(open)) marks.push(...hyphens(end, Math.min(right, end + 20), text));
  return marks;
}

/** Hyphens between two syllables of a word; none if they nearly touch. */
function hyphens(
  from: number,
  to: number,
  text: (words: string, x: number, anchor: 'middle') => Mark,
): Mark[] {
  const room = to - from;
  if (room < widthOf('-', WORDS_SIZE, 'regular')) return [];
  const count = Math.max(1, Math.round(room / 70));
  return Array.from({ length: count }, (_, i) => text('-', from + (room * (i + 0.5)) / count, 'middle'));
}
