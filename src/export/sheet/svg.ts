import { escapeXml } from '../../text/xml.ts';
import { type FontPart, runsOf } from './fonts.ts';
import { type Mark, short, type TextMark } from './marks.ts';
import type { Page, Sheet } from './pages.ts';

/** A page of a sheet as a stand-alone SVG picture, fonts embedded. */
export function pageSvg({ title, glyphs }: Sheet, page: Page): string {
  const fonts = new Map<string, FontPart>();
  const body = page.marks.map((mark) => markSvg(mark, (part) => fonts.set(part.name, part)));
  const names = new Set(page.marks.flatMap((mark) => (mark.kind === 'glyph' ? [mark.name] : [])));
  const defs = [...names].map(
    (name) => `<path id="${name}" transform="scale(1,-1)" d="${glyphs.get(name)}"/>`,
  );
  const faces = [...fonts.values()].map(
    ({ name, woff }) =>
      `@font-face{font-family:"${name}";src:url(data:font/woff;base64,${woff.toString('base64')})}`,
  );
  const [width, height] = [short(page.width), short(page.height)];
  return `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 ${width} ${height}" width="${width}pt" height="${height}pt" role="img" aria-labelledby="title">
<title id="title">${escapeXml(title)}</title>
<style>${faces.join('')}</style>
<defs>${defs.join('')}</defs>
<rect width="${width}" height="${height}" fill="#fff"/>
${body.join('\n')}
</svg>
`;
}

/**
 * A mark as SVG; `uses` is called with each part of the font.
 * @param fonts `own` names the fonts of the sheet, `inherit` leaves those of the surrounding page
 */
export function markSvg(
  mark: Mark,
  uses: (part: FontPart) => void,
  fonts: 'own' | 'inherit' = 'own',
): string {
  switch (mark.kind) {
    case 'path':
      return mark.strokeWidth === null
        ? `<path d="${mark.d}"/>`
        : `<path d="${mark.d}" fill="none" stroke="currentColor" stroke-width="${short(mark.strokeWidth)}"/>`;
    case 'glyph':
      return `<use xlink:href="#${mark.name}" transform="translate(${short(mark.x)},${short(mark.y)}) scale(${mark.scale.toFixed(5)})"/>`;
    case 'rect':
      return `<rect x="${short(mark.x)}" y="${short(mark.y)}" width="${short(mark.width)}" height="${short(mark.height)}"${mark.radius ? ` rx="${mark.radius}"` : ''}${mark.fill ? ` fill="${mark.fill}"` : ''}${mark.stroke ? ` stroke="${mark.stroke}"` : ''}/>`;
    case 'polygon':
      return `<polygon points="${mark.points.map(short).join(' ')}"/>`;
    case 'dot':
      return `<circle cx="${short(mark.x)}" cy="${short(mark.y)}" r="${short(mark.radius)}"/>`;
    case 'text':
      return textSvg(mark, uses, fonts);
  }
}

function textSvg(mark: TextMark, uses: (part: FontPart) => void, fonts: 'own' | 'inherit'): string {
  const anchored = mark.anchor === 'start' ? '' : ` text-anchor="${mark.anchor}"`;
  if (fonts === 'inherit') {
    return `<text x="${short(mark.x)}" y="${short(mark.y)}" font-size="${short(mark.size)}"${mark.bold ? ' font-weight="700"' : ''}${anchored}>${escapeXml(mark.text)}</text>`;
  }
  const runs = runsOf(mark.text, mark.bold ? 'bold' : 'regular');
  for (const { part } of runs) uses(part);
  const family = (part: FontPart) => `font-family="${part.name},sans-serif"`;
  const [first, ...more] = runs;
  if (first === undefined) return '';
  const rest = more.map(({ text, part }) => `<tspan ${family(part)}>${escapeXml(text)}</tspan>`);
  return `<text x="${short(mark.x)}" y="${short(mark.y)}" font-size="${short(mark.size)}" ${family(first.part)}${anchored}${mark.colour ? ` fill="${mark.colour}"` : ''}>${escapeXml(first.text)}${rest.join('')}</text>`;
}
