import { escapeXml } from '../text/xml.ts';

/** One bend as the chart shows it. */
export interface ChartRow {
  /** The bend as tab. */
  readonly name: string;
  /** A few words beside the row. */
  readonly words: string;
  readonly medianCents: number;
  readonly notes: readonly { readonly cents: number; readonly told: string }[];
}

/** What is drawn around the rows. */
export interface ChartOptions {
  readonly title: string;
  /** Within this a bend is in tune: the band. */
  readonly toleranceCents: number;
  /** What the left and the right of the target mean. */
  readonly left: string;
  readonly right: string;
}

/** End of the scale; values beyond are drawn at the edge. */
const EDGE_CENTS = 75;
const TICK_CENTS = 25;
const SIZE = { margin: 20, label: 80, plot: 580, side: 200, row: 36, title: 40, axis: 44 };
const INK = '#222222';
const INSIDE = '#1f5f99';
const OUTSIDE = '#b34700';

/**
 * How bends compare with their targets, as a stand-alone SVG picture: a row for each bend, a mark for each time it was
 * played, a stroke at the median, and values in words. Marks outside the tolerance are crosses, not dots, so that
 * colour is not needed to tell them apart.
 */
export function bendsChart(
  rows: readonly ChartRow[],
  { title, toleranceCents, left: leftWords, right: rightWords }: ChartOptions,
): string {
  const width = 2 * SIZE.margin + SIZE.label + SIZE.plot + SIZE.side;
  const height = 2 * SIZE.margin + SIZE.title + rows.length * SIZE.row + SIZE.axis;
  const left = SIZE.margin + SIZE.label;
  const top = SIZE.margin + SIZE.title;
  const bottom = top + rows.length * SIZE.row;
  const x = (cents: number): number => {
    const inside = Math.max(-EDGE_CENTS, Math.min(EDGE_CENTS, cents));
    return Number((left + ((inside + EDGE_CENTS) / (2 * EDGE_CENTS)) * SIZE.plot).toFixed(1));
  };
  const heading = escapeXml(`${title} (band: within ${toleranceCents} cents)`);
  const parts = [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-labelledby="title desc" font-family="sans-serif" font-size="13" fill="${INK}">`,
    `<title id="title">${escapeXml(title)}</title>`,
    `<desc id="desc">${escapeXml(rows.map(({ name, words }) => `${name}: ${words}`).join('; '))}</desc>`,
    `<rect width="${width}" height="${height}" fill="#ffffff"/>`,
    `<text x="${SIZE.margin}" y="${SIZE.margin + 16}" font-size="16" font-weight="bold">${heading}</text>`,
    `<rect x="${x(-toleranceCents)}" y="${top}" width="${Number((x(toleranceCents) - x(-toleranceCents)).toFixed(1))}" height="${bottom - top}" fill="#e3efe3"/>`,
  ];
  for (let cents = -EDGE_CENTS; cents <= EDGE_CENTS; cents += TICK_CENTS) {
    parts.push(
      `<line x1="${x(cents)}" y1="${top}" x2="${x(cents)}" y2="${bottom}" stroke="${cents === 0 ? INK : '#cccccc'}"/>`,
      `<text x="${x(cents)}" y="${bottom + 18}" text-anchor="middle">${cents > 0 ? '+' : cents < 0 ? '−' : ''}${Math.abs(cents)}</text>`,
    );
  }
  parts.push(
    `<text x="${left}" y="${bottom + 36}">← ${escapeXml(leftWords)}</text>`,
    `<text x="${left + SIZE.plot}" y="${bottom + 36}" text-anchor="end">${escapeXml(rightWords)} →</text>`,
  );
  rows.forEach(({ name, words, medianCents, notes }, i) => {
    const y = top + (i + 0.5) * SIZE.row;
    const middle = x(medianCents);
    parts.push(
      `<text x="${SIZE.margin}" y="${y + 5}" font-size="15">${escapeXml(name)}</text>`,
      ...notes.map(({ cents, told }) => mark(x(cents), y, Math.abs(cents) > toleranceCents, told)),
      `<line x1="${middle}" y1="${y - 12}" x2="${middle}" y2="${y + 12}" stroke="${INK}" stroke-width="3"/>`,
      `<text x="${left + SIZE.plot + 12}" y="${y + 5}">${escapeXml(words)}</text>`,
    );
  });
  return `${[...parts, '</svg>'].join('\n')}\n`;
}

/** A dot inside the tolerance, a dot with a cross outside it. */
function mark(x: number, y: number, outside: boolean, told: string): string {
  const dot = `<circle cx="${x}" cy="${y}" r="5" fill="${outside ? OUTSIDE : INSIDE}" fill-opacity="0.55"><title>${escapeXml(told)}</title></circle>`;
  if (!outside) return dot;
  return `${dot}<path d="M${x - 4} ${y - 4}l8 8m0 -8l-8 8" stroke="${OUTSIDE}" stroke-width="1.5"/>`;
}
