import { comparison, type Rival } from './table.ts';

const NAME_WIDTH = 168;
const CELL_WIDTH = 58;
const CELL_HEIGHT = 24;
const HEAD_HEIGHT = 58;
const LINE_HEIGHT = 13;
/** Scores at and below this are white, 1 is the full shade. */
const WHITE_AT = 0.3;
/** Shares of the shade above which white reads better than black on it. */
const WHITE_INK_ABOVE = 0.93;
const SHADE = [46, 125, 107];

const escaped = (text: string): string => text.replace(/[&<>"]/g, (sign) => `&#${sign.charCodeAt(0)};`);

/** The comparison as a table: the better a cell, the darker; the best of each column in bold; every cell has its number. */
export function renderSvg(rivals: readonly Rival[]): string {
  const { columns, rows } = comparison(rivals);
  const heads = [...columns, 'tab F1, all', '× real time'];
  const cells = rows.map((row) => [...row.noteF1, row.tabF1, row.realTimeFactor]);
  const best = heads.map((_, column) => Math.max(...cells.map((row) => row[column] ?? -Infinity)));
  const width = NAME_WIDTH + heads.length * CELL_WIDTH;
  const height = HEAD_HEIGHT + rows.length * CELL_HEIGHT + 26;
  const centre = (column: number): number => NAME_WIDTH + (column + 0.5) * CELL_WIDTH;
  const parts = heads.map((head, column) => headOf(head, centre(column)));
  rows.forEach((row, r) => {
    const top = HEAD_HEIGHT + r * CELL_HEIGHT;
    const baseline = top + CELL_HEIGHT / 2 + 4;
    parts.push(
      `<text x="4" y="${baseline}"${r === 0 ? ' font-weight="bold"' : ''}>${escaped(row.name)}</text>`,
    );
    cells[r].forEach((value, column) => {
      const score = column < heads.length - 1;
      const share = score && value !== null ? Math.max(0, (value - WHITE_AT) / (1 - WHITE_AT)) : 0;
      const text = value === null ? '–' : score ? value.toFixed(3) : value.toFixed(0);
      const bold = value !== null && value === best[column] ? ' font-weight="bold"' : '';
      const ink = share > WHITE_INK_ABOVE ? '#ffffff' : '#1a1a1a';
      parts.push(
        `<rect x="${NAME_WIDTH + column * CELL_WIDTH + 1}" y="${top + 1}" width="${CELL_WIDTH - 2}" height="${CELL_HEIGHT - 2}" fill="${shade(share)}"/>`,
        `<text x="${centre(column)}" y="${baseline}" text-anchor="middle" fill="${ink}"${bold}>${text}</text>`,
      );
    });
  });
  const note =
    'Note F1: onset within 50 ms, pitch within 50 cents. Tab F1: onset, hole, breath and bend right.';
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" font-family="sans-serif" font-size="12" role="img" aria-label="Note F1 of ${escaped(rows.map((row) => row.name).join(', '))} by kind of take">`,
    `<rect width="${width}" height="${height}" fill="#ffffff"/>`,
    ...parts,
    `<text x="4" y="${height - 8}" fill="#555555">${note}</text>`,
    '</svg>',
    '',
  ].join('\n');
}

/** A column's head, its words below each other, the last just above the cells. */
function headOf(head: string, x: number): string {
  const words = head.split(' ');
  const lines = words.map((word, i) => {
    const y = HEAD_HEIGHT - 8 - (words.length - 1 - i) * LINE_HEIGHT;
    return `<tspan x="${x}" y="${y}">${escaped(word)}</tspan>`;
  });
  return `<text text-anchor="middle" fill="#1a1a1a">${lines.join('')}</text>`;
}

const shade = (share: number): string =>
  `rgb(${SHADE.map((value) => Math.round(255 + (value - 255) * share)).join(',')})`;
