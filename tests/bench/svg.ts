import { f1 } from './measure.ts';
import { type ByCategory, total } from './table.ts';

const ROW_HEIGHT = 18;
const GROUP_GAP = 14;
const LABEL_WIDTH = 130;
const BAR_WIDTH = 420;
const FILLS = ['#1b4f72', '#b9770e', '#7d8a92', '#a04000', '#52796f', '#6c5b7b'];

const escaped = (text: string): string => text.replace(/[&<>"]/g, (sign) => `&#${sign.charCodeAt(0)};`);

/** Note F1 by category as bars, one bar for each transcriber; every bar also bears its name and number. */
export function renderSvg(
  rivals: readonly { readonly name: string; readonly byCategory: ByCategory }[],
): string {
  const categories = [...new Set(rivals.flatMap((rival) => [...rival.byCategory.keys()])), 'all'];
  const parts: string[] = [];
  let y = 30;
  for (const category of categories) {
    parts.push(`<text x="0" y="${y + 13}" font-weight="bold">${escaped(category)}</text>`);
    rivals.forEach((rival, i) => {
      const measured = category === 'all' ? total(rival.byCategory) : rival.byCategory.get(category);
      if (!measured) return;
      const value = f1(measured.note);
      const width = Math.max(1, value * BAR_WIDTH);
      parts.push(
        `<rect x="${LABEL_WIDTH}" y="${y}" width="${width.toFixed(1)}" height="${ROW_HEIGHT - 4}" fill="${FILLS[i % FILLS.length]}"/>`,
        `<text x="${LABEL_WIDTH + BAR_WIDTH + 10}" y="${y + 12}">${value.toFixed(3)} ${escaped(rival.name)}</text>`,
      );
      y += ROW_HEIGHT;
    });
    y += GROUP_GAP;
  }
  const width = LABEL_WIDTH + BAR_WIDTH + 260;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${y}" viewBox="0 0 ${width} ${y}" font-family="sans-serif" font-size="12">`,
    `<rect width="${width}" height="${y}" fill="#ffffff"/>`,
    '<text x="0" y="16" font-size="14">Note F1 (onset within 50 ms, pitch within 50 cents), 0 to 1</text>',
    ...parts,
    '</svg>',
    '',
  ].join('\n');
}
