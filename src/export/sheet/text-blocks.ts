import { headInWords } from '../head.ts';
import type { Score } from '../score.ts';
import type { Block } from './block.ts';
import { widthOf, wrapText } from './fonts.ts';
import type { TextMark } from './marks.ts';

const TITLE = 22;
const TEXT = 10.5;
const LEADING = 1.35;
const GREY = '#444444';

type Look = Partial<Pick<TextMark, 'bold' | 'anchor' | 'colour'>>;

/** A line of text whose top is at `top`. */
export function line(text: string, x: number, top: number, size: number, look: Look = {}): TextMark {
  return { kind: 'text', text, x, y: top + size, size, bold: false, anchor: 'start', ...look };
}

/** Title, composer or source, and what the player needs to know before the first note. */
export function headingBlock(score: Score, by: string | null, width: number): Block {
  const marks: TextMark[] = [];
  let top = 0;
  for (const text of wrapText(score.title, width, TITLE, 'bold')) {
    marks.push(line(text, 0, top, TITLE, { bold: true }));
    top += TITLE * 1.2;
  }
  const facts = wrapText(headInWords(score).join(' · '), width, TEXT, 'regular');
  top += 2;
  const room = width - widthOf(facts[facts.length - 1], TEXT, 'regular') - 12;
  for (const text of facts) {
    marks.push(line(text, 0, top, TEXT, { colour: GREY }));
    top += TEXT * LEADING;
  }
  if (by !== null) {
    const beside = widthOf(by, TEXT, 'regular') <= room;
    if (!beside) top += TEXT * LEADING;
    marks.push(line(by, width, top - TEXT * LEADING, TEXT, { anchor: 'end', colour: GREY }));
  }
  return { height: top, marks, gap: 14 };
}

/** A title inside the sheet. */
export function titleBlock(text: string): Block {
  return { height: 15, marks: [line(text, 0, 2, 12, { bold: true })], gap: 4, withNext: true };
}

/** Prose, wrapped. */
export function proseBlocks(text: string, width: number, look: Look = {}): Block[] {
  return wrapText(text, width, TEXT, look.bold ? 'bold' : 'regular').map((words) => ({
    height: TEXT * LEADING,
    marks: [line(words, 0, 0, TEXT, look)],
    gap: 0,
  }));
}

/** Verses in columns, each kept whole. @param verses  lines by verse */
export function verseBlocks(
  verses: readonly { readonly name: string; readonly lines: readonly string[] }[],
  width: number,
): Block[] {
  const size = TEXT;
  const gutter = 24;
  const widest = Math.max(
    ...verses.flatMap(({ lines }) => lines.map((text) => widthOf(text, size, 'regular'))),
    120,
  );
  const columns = Math.max(1, Math.min(3, verses.length, Math.floor((width + gutter) / (widest + gutter))));
  const each = (width - gutter * (columns - 1)) / columns;
  const blocks: Block[] = [];
  for (let first = 0; first < verses.length; first += columns) {
    const marks: TextMark[] = [];
    let height = 0;
    for (const [column, { name, lines }] of verses.slice(first, first + columns).entries()) {
      const x = column * (each + gutter);
      let top = 0;
      marks.push(line(name, x, top, size, { bold: true }));
      top += size * LEADING;
      for (const text of lines.flatMap((words) => wrapText(words, each, size, 'regular'))) {
        marks.push(line(text, x, top, size));
        top += size * LEADING;
      }
      height = Math.max(height, top);
    }
    blocks.push({ height, marks, gap: 10 });
  }
  return blocks;
}
