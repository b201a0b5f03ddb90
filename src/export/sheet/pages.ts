import { legend, type TabStyle } from '../../tab/text.ts';
import { printSyllable } from '../../take/words.ts';
import { hardSpots } from '../hard-spots.ts';
import { leftOverInWords, type Score } from '../score.ts';
import type { Block } from './block.ts';
import { chartBlock } from './chart-block.ts';
import { engrave } from './engraving.ts';
import { missingLetters } from './fonts.ts';
import { type Glyphs, type Mark, moved } from './marks.ts';
import { systemBlock, WORDS_SIZE, widestUnder } from './system-block.ts';
import { headingBlock, line, proseBlocks, titleBlock, verseBlocks } from './text-blocks.ts';

/** Sizes of paper in points (ISO 216; ANSI/ASME Y14.1), and one page as long as it takes. */
export const PAPERS = {
  a4: { width: 595.28, height: 841.89 },
  letter: { width: 612, height: 792 },
  long: { width: 595.28, height: null },
} as const;
export type Paper = keyof typeof PAPERS;

export interface SheetOptions {
  readonly style: TabStyle;
  readonly paper: Paper;
  /** Who the tune is by, or `traditional`; null for nothing. */
  readonly by: string | null;
}

/** A page with everything in its place. */
export interface Page {
  readonly width: number;
  readonly height: number;
  readonly marks: readonly Mark[];
}

/** The pages of one tune or of several. */
export interface Sheet {
  readonly title: string;
  readonly pages: readonly Page[];
  readonly glyphs: Glyphs;
  /** What the engraver had to say; empty for nothing. */
  readonly log: string;
  /** Letters that the font of the sheet lacks. */
  readonly missing: readonly string[];
}

const MARGIN = { side: 45, top: 45, bottom: 40 };
const ZOOM = 0.88;
/** More verses than this stand as text after the tune. */
const MOST_VERSES_UNDER_NOTES = 3;

/** The sheet of a tune: heading, staff with tab and words, further verses, the notes used on the harp. */
export async function composeSheet(score: Score, options: SheetOptions): Promise<Sheet> {
  return composeSheets(score.title, [score], options);
}

/** The sheet of several tunes, each from a page of its own on. */
export async function composeSheets(
  title: string,
  scores: readonly Score[],
  options: SheetOptions,
): Promise<Sheet> {
  const { width, height } = PAPERS[options.paper];
  const glyphs = new Map<string, string>();
  const logs: string[] = [];
  const parts: Block[][] = [];
  for (const score of scores) {
    const part = await blocksOf(score, options, width - 2 * MARGIN.side);
    for (const [name, d] of part.glyphs) glyphs.set(name, d);
    if (part.log !== '') logs.push(part.log);
    parts.push(part.blocks);
  }
  const pages = setPages(parts, width, height, title);
  const texts = pages.flatMap(({ marks }) =>
    marks.flatMap((mark) => (mark.kind === 'text' ? [mark.text] : [])),
  );
  return { title, pages, glyphs, log: logs.join('\n'), missing: missingLetters(texts.join('')) };
}

async function blocksOf(
  score: Score,
  options: SheetOptions,
  width: number,
): Promise<{ blocks: Block[]; glyphs: Glyphs; log: string }> {
  const under =
    score.verses > MOST_VERSES_UNDER_NOTES ? [0] : Array.from({ length: score.verses }, (_, i) => i);
  const rows = { style: options.style, verses: under, hard: hardSpots(score) };
  const { systems, glyphs, log } = await engrave(score, {
    width,
    zoom: ZOOM,
    spaceFor: (note) => widestUnder(note, rows),
    textSize: WORDS_SIZE,
  });
  const blocks = [
    headingBlock(score, options.by, width),
    ...systems.map((system) => systemBlock(score, system, rows)),
    ...wordsAfter(score, under, width),
    ...foot(score, rows.hard, options, width),
  ];
  return { blocks, glyphs, log };
}

/** Verses that don't stand under the notes, and words that found no note. */
function wordsAfter(score: Score, under: readonly number[], width: number): Block[] {
  const verses = Array.from({ length: score.verses }, (_, verse) => verse)
    .filter((verse) => !under.includes(verse))
    .map((verse) => ({ name: `Verse ${verse + 1}`, lines: linesOfVerse(score, verse) }))
    .filter(({ lines }) => lines.length > 0);
  const left = leftOverInWords(score);
  return [
    ...(verses.length === 0 ? [] : verseBlocks(verses, width)),
    ...(left.length === 0
      ? []
      : [titleBlock('Words that found no note'), ...left.flatMap((text) => proseBlocks(text, width))]),
  ];
}

/** A verse in the lines of the tune. */
export function linesOfVerse({ notes, take }: Score, verse: number): string[] {
  const starts = new Set(take.phrases.map(({ firstNote }) => firstNote));
  const lines: string[] = [''];
  for (const { index, sung } of notes) {
    if (starts.has(index) && !lines[lines.length - 1].endsWith('-')) lines.push('');
    const here = sung[verse];
    if (here?.kind !== 'begin') continue;
    const text = printSyllable(here);
    lines[lines.length - 1] += text.endsWith('-') && here.syllabic !== 'single' ? text : `${text} `;
  }
  return lines
    .map((text) => text.replace(/(?<=\p{L})-(?=\p{Ll})/gu, '').trim())
    .filter((text) => text !== '');
}

function foot(
  score: Score,
  hard: ReadonlyMap<number, string>,
  { style }: SheetOptions,
  width: number,
): Block[] {
  const chart = chartBlock(score);
  const spots = hard.size === 0 ? '' : ' · shaded: the hardest spots, worth practising first';
  const legendBlocks = proseBlocks(`${legend(style)}${spots}`, width, { colour: '#444444' });
  if (chart === null) return legendBlocks;
  return [titleBlock('The notes used'), { ...chart, withNext: true }, ...legendBlocks];
}

/** Puts blocks on pages, none cut, each part from a new page on, with the number of each page at its foot. */
function setPages(
  parts: readonly (readonly Block[])[],
  width: number,
  height: number | null,
  title: string,
): Page[] {
  const room = height === null ? Number.POSITIVE_INFINITY : height - MARGIN.top - MARGIN.bottom;
  const pages: { marks: Mark[]; used: number }[] = [];
  for (const blocks of parts) {
    let page = { marks: [] as Mark[], used: 0 };
    pages.push(page);
    for (const [i, block] of blocks.entries()) {
      let together = block.height;
      for (let next = i; blocks[next].withNext && next + 1 < blocks.length; next++) {
        together += blocks[next].gap + blocks[next + 1].height;
      }
      if (page.used > 0 && page.used + together > room) {
        page = { marks: [], used: 0 };
        pages.push(page);
      }
      page.marks.push(...block.marks.map((mark) => moved(mark, MARGIN.side, MARGIN.top + page.used)));
      page.used += block.height + block.gap;
    }
  }
  return pages.map(({ marks, used }, i) => {
    const tall = height ?? MARGIN.top + used + MARGIN.bottom;
    const number = line(`${title} · ${i + 1} of ${pages.length}`, width / 2, tall - MARGIN.bottom + 12, 8.5, {
      anchor: 'middle',
      colour: '#555555',
    });
    return { width, height: tall, marks: pages.length > 1 ? [...marks, number] : marks };
  });
}
