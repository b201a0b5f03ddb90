import { median } from '../statistics.ts';
import { DOUBTFUL_BELOW, type Note } from '../tab/note.ts';
import { FAULT_CENTS } from '../tab/remarks.ts';
import { formatTabNote, type TabStyle } from '../tab/text.ts';
import { escapeXml } from '../text/xml.ts';
import type { Score } from './score.ts';

/** Where the scale ends; what lies beyond is drawn at the edge, with its value in words. */
const EDGE_CENTS = 80;
const TICK_CENTS = 20;
const SIZE = { margin: 20, label: 110, plot: 560, side: 170, row: 34, title: 44, axis: 46 };
const INK = '#222222';

interface Row {
  readonly tab: string;
  readonly notes: readonly Note[];
  readonly medianCents: number;
}

/** The bends and overbends of a take by kind, hole by hole; notes in doubt are left out. */
function rowsOf(notes: readonly Note[], style: TabStyle): Row[] {
  const kinds = new Map<string, Note[]>();
  const bent = notes.filter((note) => (note.bend > 0 || note.over) && note.confidence >= DOUBTFUL_BELOW);
  const ordered = bent.toSorted(
    (a, b) => a.hole - b.hole || a.bend - b.bend || Number(a.over) - Number(b.over),
  );
  for (const note of ordered) {
    const tab = formatTabNote(note, style);
    kinds.set(tab, [...(kinds.get(tab) ?? []), note]);
  }
  return [...kinds].map(([tab, same]) => ({
    tab,
    notes: same,
    medianCents: median(same.map((note) => note.cents)),
  }));
}

/**
 * How the bends of a take lie against their targets, as a stand-alone SVG picture: a row for each bend, a dot for each
 * time it was played, a stroke at their median, values in words beside it.
 * @returns null when the take holds no bend that is sure
 */
export function writeBendsSvg({ title, take }: Score, options: { readonly style: TabStyle }): string | null {
  const rows = rowsOf(take.notes, options.style);
  if (rows.length === 0) return null;
  const width = 2 * SIZE.margin + SIZE.label + SIZE.plot + SIZE.side;
  const height = 2 * SIZE.margin + SIZE.title + rows.length * SIZE.row + SIZE.axis;
  const heading = escapeXml(`${title}: bends against their targets`);
  const top = SIZE.margin + SIZE.title;
  const bottom = top + rows.length * SIZE.row;
  const parts = [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-labelledby="title desc" font-family="sans-serif">`,
    `<title id="title">${heading}</title>`,
    `<desc id="desc">${escapeXml(rows.map((row) => `${row.tab}: ${inWords(row)}`).join('; '))}</desc>`,
    `<rect width="${width}" height="${height}" fill="#ffffff"/>`,
    `<text x="${SIZE.margin}" y="${SIZE.margin + 20}" font-size="18" font-weight="bold" fill="${INK}">${heading}</text>`,
    `<rect x="${xOf(-FAULT_CENTS.bent)}" y="${top}" width="${xOf(FAULT_CENTS.bent) - xOf(-FAULT_CENTS.bent)}" height="${bottom - top}" fill="#e3eef8"/>`,
    ...axis(top, bottom),
    ...rows.flatMap((row, i) => drawRow(row, top + (i + 0.5) * SIZE.row)),
    '</svg>',
  ];
  return `${parts.join('\n')}\n`;
}

function xOf(cents: number): number {
  const inside = Math.max(-EDGE_CENTS, Math.min(EDGE_CENTS, cents));
  const x = SIZE.margin + SIZE.label + ((inside + EDGE_CENTS) / (2 * EDGE_CENTS)) * SIZE.plot;
  return Math.round(10 * x) / 10;
}

function axis(top: number, bottom: number): string[] {
  const parts: string[] = [];
  for (let cents = -EDGE_CENTS; cents <= EDGE_CENTS; cents += TICK_CENTS) {
    const x = xOf(cents);
    const target = cents === 0;
    parts.push(
      `<line x1="${x}" y1="${top}" x2="${x}" y2="${bottom}" stroke="${target ? INK : '#bbbbbb'}" stroke-width="${target ? 2 : 1}"/>`,
      `<text x="${x}" y="${bottom + 16}" font-size="12" text-anchor="middle" fill="${INK}">${signed(cents)}</text>`,
    );
  }
  const middle = xOf(0);
  parts.push(
    `<text x="${middle}" y="${bottom + 34}" font-size="12" text-anchor="middle" fill="${INK}">flat ← cents against the target → sharp</text>`,
  );
  return parts;
}

function drawRow(row: Row, y: number): string[] {
  const x = xOf(row.medianCents);
  return [
    `<text x="${SIZE.margin}" y="${y + 5}" font-size="15" fill="${INK}">${escapeXml(row.tab)}</text>`,
    ...row.notes.map(
      ({ cents, onsetSec }) =>
        `<circle cx="${xOf(cents)}" cy="${y}" r="5" fill="#1f5f99" fill-opacity="0.6"><title>${signed(Math.round(cents))} cents at ${onsetSec.toFixed(1)} s</title></circle>`,
    ),
    `<line x1="${x}" y1="${y - 12}" x2="${x}" y2="${y + 12}" stroke="#b34700" stroke-width="3"/>`,
    `<text x="${SIZE.margin + SIZE.label + SIZE.plot + 14}" y="${y + 5}" font-size="13" fill="${INK}">${inWords(row)}</text>`,
  ];
}

function inWords({ notes, medianCents }: Row): string {
  const cents = Math.round(medianCents);
  const where = cents === 0 ? 'on target' : `${Math.abs(cents)} ${cents < 0 ? 'flat' : 'sharp'}`;
  return `${notes.length === 1 ? 'once' : `${notes.length} times`}, ${where}`;
}

function signed(cents: number): string {
  return cents > 0 ? `+${cents}` : cents < 0 ? `−${Math.abs(cents)}` : '0';
}
