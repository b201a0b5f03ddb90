import type { TabStyle } from '../../tab/text.ts';
import { escapeHtml } from '../../text/html.ts';
import type { Score } from '../score.ts';
import { type Engraving, engrave } from '../sheet/engraving.ts';
import { markSvg } from '../sheet/svg.ts';
import { spaceUnder, systemBlock, type TabPlace, WORDS_SIZE } from '../sheet/system-block.ts';

/** Width of a system in points: good on a phone held upright. */
const WIDTH = 400;
const ZOOM = 0.95;
/** The page uses the reader's fonts, whose bold digits are up to two fifths wider than those of the sheet. */
const WIDER = 1.5;

/**
 * Engraves the staff of a page: systems by line, and the glyphs that they use.
 * @throws ReedtraceError E_MUSIC_INVALID; E_INTERRUPTED when the signal stops it
 */
export async function engraveForPage(
  score: Score,
  style: TabStyle,
  signal?: AbortSignal,
): Promise<Engraving> {
  const rows = { style, verses: [] };
  return engrave(score, {
    width: WIDTH,
    zoom: ZOOM,
    spaceFor: (note, next) => spaceUnder(note, next, rows, WIDER),
    textSize: WORDS_SIZE,
    signal,
  });
}

/** Glyphs of all staves of a page, to be referenced by name. */
export function glyphsHtml(engravings: readonly (Engraving | null)[]): string {
  const glyphs = new Map(engravings.flatMap((engraving) => [...(engraving?.glyphs ?? [])]));
  const paths = [...glyphs].map(([name, d]) => `<path id="${name}" transform="scale(1,-1)" d="${d}"/>`);
  return `<svg width="0" height="0" aria-hidden="true" focusable="false" class="glyphs"><defs>${paths.join('')}</defs></svg>`;
}

/** The systems of one line of a tune, with tab below, in the colour of the text around them. */
export function staffHtml(
  score: Score,
  { systems }: Engraving,
  line: { readonly number: number; readonly name: string },
  { style, place }: { readonly style: TabStyle; readonly place: TabPlace },
): string {
  const pictures = systems
    .filter((system) => system.line === line.number)
    .map((system) => {
      const { marks, height } = systemBlock(score, system, { style, place, verses: [], hard: new Map() });
      const body = marks.map((mark) => markSvg(mark, () => {}, 'inherit')).join('');
      return `<svg viewBox="0 0 ${WIDTH} ${height.toFixed(1)}" style="max-width:${Math.round(1.5 * WIDTH)}px" role="img" aria-label="${escapeHtml(`Line ${line.name} on a staff; the same notes as the tab above`)}">${body}</svg>`;
    });
  return `<div class="staff">${pictures.join('')}</div>`;
}
