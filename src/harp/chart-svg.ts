import { escapeXml } from '../text/xml.ts';
import type { ChartRow } from './chart.ts';
import { HOLES } from './layouts.ts';
import type { PlayableNote } from './types.ts';

const CELL = { width: 68, height: 44 };
const LABEL_WIDTH = 96;
const MARGIN = 16;
const TITLE_HEIGHT = 40;

/**
 * Fills that differ in lightness as well as in hue, so that they can be told apart in print and by the colour-blind.
 */
const FILL: Readonly<Record<ChartRow['kind'], string>> = {
  reed: '#ffffff',
  bend: '#dbe7f3',
  over: '#f6e3c5',
  hole: '#333333',
};

export interface ChartSvgOptions {
  readonly title: string;
  /** The text of a cell. */
  readonly show: (note: PlayableNote) => string;
  /** How often a note occurs in a tune; cells with 0 are greyed. Without it all are drawn alike. */
  readonly uses?: (note: PlayableNote) => number;
}

/** The chart as a stand-alone SVG document with a text description; fonts are the viewer's own sans-serif. */
export function chartSvg(rows: readonly ChartRow[], options: ChartSvgOptions): string {
  const width = 2 * MARGIN + LABEL_WIDTH + HOLES * CELL.width;
  const height = 2 * MARGIN + TITLE_HEIGHT + rows.length * CELL.height;
  const parts = [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-labelledby="title" font-family="sans-serif">`,
    `<title id="title">${escapeXml(options.title)}</title>`,
    `<rect width="${width}" height="${height}" fill="#ffffff"/>`,
    `<text x="${MARGIN}" y="${MARGIN + 20}" font-size="18" font-weight="bold">${escapeXml(options.title)}</text>`,
  ];
  for (const [r, row] of rows.entries()) {
    const y = MARGIN + TITLE_HEIGHT + r * CELL.height;
    parts.push(
      `<text x="${MARGIN}" y="${y + CELL.height / 2 + 5}" font-size="14" fill="#333333">${row.label}</text>`,
    );
    for (let i = 0; i < HOLES; i++) {
      const note = row.cells[i];
      if (row.kind !== 'hole' && !note) continue;
      parts.push(cell(row, note, i, y, options));
    }
  }
  parts.push('</svg>');
  return `${parts.join('\n')}\n`;
}

function cell(
  row: ChartRow,
  note: PlayableNote | undefined,
  column: number,
  y: number,
  options: ChartSvgOptions,
): string {
  const x = MARGIN + LABEL_WIDTH + column * CELL.width;
  const uses = note && options.uses ? options.uses(note) : undefined;
  const faint = uses === 0 ? ' opacity="0.35"' : '';
  const strong = uses !== undefined && uses > 0;
  const colour = row.kind === 'hole' ? '#ffffff' : '#111111';
  const text = note ? options.show(note) : String(column + 1);
  const count = strong
    ? `<text x="${x + CELL.width - 6}" y="${y + CELL.height - 6}" font-size="10" text-anchor="end">×${uses}</text>`
    : '';
  return [
    `<g${faint}>`,
    `<rect x="${x + 2}" y="${y + 2}" width="${CELL.width - 4}" height="${CELL.height - 4}" rx="4" fill="${FILL[row.kind]}" stroke="#333333" stroke-width="${strong ? 3 : 1}"/>`,
    `<text x="${x + CELL.width / 2}" y="${y + CELL.height / 2 + 5}" font-size="15" text-anchor="middle" fill="${colour}"${row.kind === 'hole' || strong ? ' font-weight="bold"' : ''}>${escapeXml(text)}</text>`,
    count,
    '</g>',
  ].join('');
}
