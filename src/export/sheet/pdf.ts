import PDFDocument from 'pdfkit';
import { type FontPart, runsOf, widthOf } from './fonts.ts';
import type { Glyphs, Mark, TextMark } from './marks.ts';
import type { Sheet } from './pages.ts';

/** A sheet as PDF, all vectors, fonts embedded. The same sheet gives the same file. */
export async function sheetPdf({ title, pages, glyphs }: Sheet): Promise<Uint8Array> {
  const document = new PDFDocument({
    autoFirstPage: false,
    margin: 0,
    info: { Title: title, Creator: 'Reedtrace', Producer: 'Reedtrace', CreationDate: new Date(0) },
    lang: 'en',
    displayTitle: true,
  });
  const chunks: Buffer[] = [];
  const ended = new Promise<void>((resolve, reject) => {
    document.on('data', (chunk: Buffer) => chunks.push(chunk));
    document.on('end', resolve);
    document.on('error', reject);
  });
  const fonts = new Set<string>();
  const font = ({ name, plain }: FontPart) => {
    if (!fonts.has(name)) document.registerFont(name, plain);
    fonts.add(name);
    return name;
  };
  for (const page of pages) {
    document.addPage({ size: [page.width, page.height], margin: 0 });
    for (const mark of page.marks) draw(document, mark, glyphs, font);
  }
  document.end();
  await ended;
  return Buffer.concat(chunks);
}

type Pdf = InstanceType<typeof PDFDocument>;

function draw(pdf: Pdf, mark: Mark, glyphs: Glyphs, font: (part: FontPart) => string): void {
  switch (mark.kind) {
    case 'path':
      if (mark.strokeWidth === null) pdf.path(mark.d).fill('#000000');
      else pdf.path(mark.d).lineWidth(mark.strokeWidth).stroke('#000000');
      return;
    case 'glyph':
      pdf.save();
      pdf.translate(mark.x, mark.y).scale(mark.scale, -mark.scale);
      pdf.path(glyphs.get(mark.name) ?? '').fill('#000000');
      pdf.restore();
      return;
    case 'rect':
      if (mark.radius) pdf.roundedRect(mark.x, mark.y, mark.width, mark.height, mark.radius);
      else pdf.rect(mark.x, mark.y, mark.width, mark.height);
      pdf.lineWidth(1);
      if (mark.stroke === undefined) pdf.fill(mark.fill ?? '#000000');
      else pdf.fillAndStroke(mark.fill ?? '#ffffff', mark.stroke);
      return;
    case 'polygon': {
      const corners = Array.from({ length: mark.points.length / 2 }, (_, i) => [
        mark.points[2 * i],
        mark.points[2 * i + 1],
      ]);
      pdf.polygon(...corners).fill('#000000');
      return;
    }
    case 'dot':
      pdf.circle(mark.x, mark.y, mark.radius).fill('#000000');
      return;
    case 'text':
      drawText(pdf, mark, font);
  }
}

function drawText(pdf: Pdf, mark: TextMark, font: (part: FontPart) => string): void {
  const weight = mark.bold ? 'bold' : 'regular';
  const width = widthOf(mark.text, mark.size, weight);
  let x = mark.x - (mark.anchor === 'middle' ? width / 2 : mark.anchor === 'end' ? width : 0);
  pdf.fillColor(mark.colour ?? '#000000').fontSize(mark.size);
  for (const { text, part } of runsOf(mark.text, weight)) {
    pdf.font(font(part)).text(text, x, mark.y, { lineBreak: false, baseline: 'alphabetic', features: [] });
    x += widthOf(text, mark.size, weight);
  }
}
