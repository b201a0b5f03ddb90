import type { Block } from './block.ts';
import { type Mark, moved } from './marks.ts';

/** Margins of a page, in points. */
export const MARGIN = { side: 45, top: 45, bottom: 40 };
/** A page less full than this is worth avoiding, or filling. */
export const NEARLY_EMPTY = 0.4;
/** Step in which pages are evened out, as a share of a page. */
const EVEN_STEP = 0.02;

/** The blocks of a page, and their height in points. */
export interface PageOfBlocks {
  readonly marks: Mark[];
  used: number;
}

/** Height for blocks on a page of this height, in points; unlimited on a page that is as long as needed. */
export const roomOf = (height: number | null): number =>
  height === null ? Number.POSITIVE_INFINITY : height - MARGIN.top - MARGIN.bottom;

/**
 * Puts the blocks of a tune on pages, none cut.
 * @param whole  true to begin a new page for a section that would not fit on a page that is well filled
 */
export function onPages(blocks: readonly Block[], room: number, whole = false): PageOfBlocks[] {
  let page = { marks: [] as Mark[], used: 0 };
  const pages = [page];
  for (const [i, block] of blocks.entries()) {
    const together = heightUpTo(blocks, i, (next) => blocks[next - 1].withNext !== true);
    const section = block.beginsSection
      ? heightUpTo(blocks, i, (next) => blocks[next].beginsSection === true)
      : 0;
    const divides = whole && page.used > NEARLY_EMPTY * room && section <= room && page.used + section > room;
    if (page.used > 0 && (page.used + together > room || divides)) {
      page = { marks: [], used: 0 };
      pages.push(page);
    }
    page.marks.push(...block.marks.map((mark) => moved(mark, MARGIN.side, MARGIN.top + page.used)));
    page.used += block.height + block.gap;
  }
  return pages;
}

/** Height of the blocks from one on, up to the one before which `ends` is true. */
function heightUpTo(blocks: readonly Block[], from: number, ends: (next: number) => boolean): number {
  let height = blocks[from].height;
  for (let next = from + 1; next < blocks.length && !ends(next); next++)
    height += blocks[next - 1].gap + blocks[next].height;
  return height;
}

/**
 * The same on as few pages, with sections whole if they can be. If the last page would have little on it, such as the last line
 * or only the harp, all pages are equally full, as far as whole blocks allow.
 */
export function onEvenPages(blocks: readonly Block[], room: number): PageOfBlocks[] {
  const fewest = onPages(blocks, room);
  for (const whole of [true, false]) {
    const pages = onPages(blocks, room, whole);
    if (pages.length > fewest.length) continue;
    const [last] = pages.slice(-1);
    if (pages.length === 1 || last.used > NEARLY_EMPTY * room) return pages;
    for (let share = NEARLY_EMPTY; share < 1; share += EVEN_STEP) {
      const even = onPages(blocks, share * room, whole);
      if (even.length === pages.length) return even;
    }
    if (whole) return pages;
  }
  return fewest;
}
