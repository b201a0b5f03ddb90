import { oneLine } from './message.ts';

/** A sentence after its label, broken at spaces; further lines hang under the first. */
export function hung(label: string, text: string, columns: number): string[] {
  const gap = label === '' ? 0 : label.endsWith(':') || label.trim() === '' ? 1 : 2;
  const indent = label.length + gap;
  const lines: string[] = [];
  let line = `${label}${' '.repeat(gap)}`;
  for (const word of oneLine(text).split(' ')) {
    const longer = line.trim() === '' || line.endsWith(' ') ? `${line}${word}` : `${line} ${word}`;
    if (longer.length > columns && line.trim() !== label.trim() && line.trim() !== '') {
      lines.push(line.trimEnd());
      line = `${' '.repeat(indent)}${word}`;
    } else {
      line = longer;
    }
  }
  lines.push(line.trimEnd());
  return lines;
}
