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

/** Puts the blocks of a tune on pages, none cut. */
export function onPages(blocks: readonly Block[], room: number): PageOfBlocks[] {
  let page = { marks: [] as Mark[], used: 0 };
  const pages = [page];
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
  return pages;
}

/**
 * The same for when the last page would have little on it, such as the last line or only the harp: all pages are
 * equally full, as far as whole blocks allow.
 */
export function onEvenPages(blocks: readonly Block[], room: number): PageOfBlocks[] {
  const pages = onPages(blocks, room);
  const [last] = pages.slice(-1);
  if (pages.length === 1 || last.used > NEARLY_EMPTY * room) return pages;
  for (let share = NEARLY_EMPTY; share < 1; share += EVEN_STEP) {
    const even = onPages(blocks, share * room);
    if (even.length === pages.length) return even;
  }
  return pages;
}
