import { legend, ornamentLegend, severalLegend, type TabStyle } from '../../tab/text.ts';
import { printSyllable } from '../../take/words.ts';
import { hardSpots } from '../hard-spots.ts';
import { groupsToldOnce, type Repeats } from '../repeats.ts';
import { leftOverInWords, type Score } from '../score.ts';
import { wordsOf } from '../tab.ts';
import type { Block } from './block.ts';
import { chartBlock } from './chart-block.ts';
import { engrave } from './engraving.ts';
import { missingLetters } from './fonts.ts';
import { type Glyphs, type Mark, scaled } from './marks.ts';
import { MARGIN, NEARLY_EMPTY, onEvenPages, onPages, roomOf } from './paging.ts';
import type { System } from './read-system.ts';
import {
  printed,
  type RowOptions,
  spaceUnder,
  systemBlock,
  type TabPlace,
  underSection,
  WORDS_SIZE,
} from './system-block.ts';
import { headingBlock, line, proseBlocks, titleBlock, verseBlocks } from './text-blocks.ts';

/** Paper sizes in points (ISO 216; ANSI/ASME Y14.1), and one page as long as needed. */
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
  /** How to write a line that is repeated note for note; in full if omitted. */
  readonly repeats?: Repeats;
  /** Where the tab is placed; in a row if omitted. */
  readonly place?: TabPlace;
  /** Stops engraving between two lines. */
  readonly signal?: AbortSignal | undefined;
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
  /** Messages of the engraver; empty for none. */
  readonly log: string;
  /** Letters that the font of the sheet lacks. */
  readonly missing: readonly string[];
}

const ZOOM = 0.88;
/** Room after prose. */
const AFTER_PROSE = 12;
/** With more verses than this, they are printed as text after the tune. */
const MOST_VERSES_UNDER_NOTES = 3;

/** The sheet of a tune: heading, staff with tab and words, further verses, the notes used on the harp. */
export async function composeSheet(score: Score, options: SheetOptions): Promise<Sheet> {
  return composeSheets(score.title, [score], options);
}

/** The sheet of several tunes, each beginning on a new page. */
export async function composeSheets(
  title: string,
  scores: readonly Score[],
  options: SheetOptions,
): Promise<Sheet> {
  const { width, height } = PAPERS[options.paper];
  const glyphs = new Map<string, string>();
  const logs: string[] = [];
  const parts: (readonly Block[])[] = [];
  for (const score of scores) {
    const part = await fittingBlocks(score, options, width - 2 * MARGIN.side, roomOf(height));
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

/**
 * A slightly smaller sheet is better than a last page with only the end of a tune; below the last size it is too small
 * for a music stand.
 */
const SIZES = [1, 0.94, 0.88, 0.85];
/** With more pages than this, one more does no harm. */
const FEW_PAGES = 4;

interface LaidOut {
  readonly blocks: readonly Block[];
  readonly glyphs: Glyphs;
  readonly log: string;
}

/** The blocks of a tune, drawn smaller where that saves a page with little on it. */
async function fittingBlocks(
  score: Score,
  options: SheetOptions,
  width: number,
  room: number,
): Promise<LaidOut> {
  let best: LaidOut | null = null;
  let most = 0;
  for (const size of SIZES) {
    const part = await blocksOf(score, options, width / size);
    const blocks = part.blocks.map((block) => sized(block, size));
    const pages = onPages(blocks, room);
    if (best !== null && pages.length >= most) continue;
    best = { ...part, blocks };
    most = pages.length;
    const [last] = pages.slice(-1);
    if (pages.length === 1 || pages.length > FEW_PAGES || last.used > NEARLY_EMPTY * room) break;
  }
  return best!;
}

function sized(block: Block, by: number): Block {
  if (by === 1) return block;
  return {
    ...block,
    height: block.height * by,
    gap: block.gap * by,
    marks: block.marks.map((mark) => scaled(mark, by)),
  };
}

async function blocksOf(score: Score, options: SheetOptions, width: number): Promise<LaidOut> {
  const under =
    score.verses > MOST_VERSES_UNDER_NOTES ? [0] : Array.from({ length: score.verses }, (_, i) => i);
  const rows = {
    style: options.style,
    place: options.place ?? 'row',
    verses: under,
    hard: hardSpots(score),
  };
  const { systems, glyphs, log } = await engrave(score, {
    width,
    zoom: ZOOM,
    spaceFor: (note, next) => spaceUnder(note, next, rows),
    textSize: WORDS_SIZE,
    signal: options.signal,
  });
  const blocks = [
    headingBlock(score, options.by, width),
    ...linesOnStaff(score, systems, rows, options, width),
    ...wordsAfter(score, under, width),
    ...foot(score, rows.hard, options, width).map((block, i) =>
      i === 0 ? { ...block, beginsSection: true } : block,
    ),
  ];
  return { blocks, glyphs, log };
}

/** The systems with tab and words below; if repeats are written once, a repeated line is a sentence with its words. */
function linesOnStaff(
  score: Score,
  systems: readonly System[],
  rows: RowOptions,
  { style, repeats }: SheetOptions,
  width: number,
): Block[] {
  const lines = repeats === 'once' ? groupsToldOnce(score, style) : [];
  const told = new Set<number>();
  return systems.flatMap((system) => {
    const [index] = system.heads.keys();
    const at = lines.findIndex(({ first, last }) => first <= index && index <= last);
    const line = lines[at];
    if (line === undefined || line.same === null)
      return [underSection(systemBlock(score, system, rows), system, score)];
    if (told.has(at)) return [];
    told.add(at);
    const blocks = [
      ...proseBlocks(printed(line.remark ?? ''), width, { bold: true }),
      ...line.lines
        .flatMap(({ first, last }) => wordsOf(score, first, last))
        .flatMap((words) => proseBlocks(words, width)),
    ];
    return spacedOut(blocks).map((block, i) =>
      i < blocks.length - 1 ? { ...block, withNext: true } : block,
    );
  });
}

/** Verses that are not under the notes, and words without a note. */
function wordsAfter(score: Score, under: readonly number[], width: number): Block[] {
  const verses = Array.from({ length: score.verses }, (_, verse) => verse)
    .filter((verse) => !under.includes(verse))
    .map((verse) => ({
      name: `Verse ${verse + 1}`,
      lines: linesOfVerse(score, verse).map(({ text }) => text),
    }))
    .filter(({ lines }) => lines.length > 0);
  const left = leftOverInWords(score);
  return [
    ...(verses.length === 0 ? [] : verseBlocks(verses, width)),
    ...(left.length === 0
      ? []
      : [titleBlock('Words without a note'), ...spacedOut(left.flatMap((text) => proseBlocks(text, width)))]),
  ];
}

/** Adds space after the last block. */
const spacedOut = (blocks: readonly Block[]): Block[] =>
  blocks.map((block, i) => (i < blocks.length - 1 ? block : { ...block, gap: AFTER_PROSE }));

/** A line of a verse, and its language (ISO 639-1) if the take has it. */
interface VerseLine {
  readonly text: string;
  readonly lang: string | null;
}

/** A verse, divided into the lines of the tune. */
export function linesOfVerse({ notes, take }: Score, verse: number): VerseLine[] {
  const starts = new Set(take.phrases.map(({ firstNote }) => firstNote));
  const lines: VerseLine[] = [];
  let line = { text: '', lang: null as string | null };
  for (const { index, sung } of notes) {
    if (starts.has(index) && !line.text.endsWith('-')) {
      lines.push(line);
      line = { text: '', lang: null };
    }
    const here = sung[verse];
    if (here?.kind !== 'begin') continue;
    const text = printSyllable(here);
    line.text += text.endsWith('-') && here.syllabic !== 'single' ? text : `${text} `;
    line.lang ??= here.lang;
  }
  return [...lines, line]
    .map(({ text, lang }) => ({ text: text.replace(/(?<=\p{L})-(?=\p{Ll})/gu, '').trim(), lang }))
    .filter(({ text }) => text !== '');
}

function foot(
  score: Score,
  hard: ReadonlyMap<number, string>,
  { style }: SheetOptions,
  width: number,
): Block[] {
  const chart = chartBlock(score);
  const spots = hard.size === 0 ? '' : ' · shaded: the hardest spots, worth practising first';
  const { notes } = score.take;
  const signs = [legend(style), severalLegend(notes, style), ornamentLegend(notes, style)];
  const words = `${signs.filter((text) => text !== '').join(' · ')}${spots}`;
  const legendBlocks = proseBlocks(printed(words), width, { colour: '#444444' });
  if (chart === null) return legendBlocks;
  return [titleBlock('The notes used'), { ...chart, withNext: true }, ...legendBlocks];
}

/** The pages of all parts, each part on a new page, with page numbers. */
function setPages(
  parts: readonly (readonly Block[])[],
  width: number,
  height: number | null,
  title: string,
): Page[] {
  const pages = parts.flatMap((blocks) => onEvenPages(blocks, roomOf(height)));
  return pages.map(({ marks, used }, i) => {
    const tall = height ?? MARGIN.top + used + MARGIN.bottom;
    const number = line(`${title} · ${i + 1} of ${pages.length}`, width / 2, tall - MARGIN.bottom + 12, 8.5, {
      anchor: 'middle',
      colour: '#555555',
    });
    return { width, height: tall, marks: pages.length > 1 ? [...marks, number] : marks };
  });
}
