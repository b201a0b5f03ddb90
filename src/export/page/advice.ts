import { ReedtraceError } from '../../errors.ts';

/**
 * What a teacher says to the lines of a tune: `2: keep it low`, a line of the text for each; without a number it is for the
 * line of the tune in the same place; an empty line or `-` says nothing.
 * @returns by line of the tune, the first at 0
 * @throws ReedtraceError E_USAGE for a line that the tune doesn't have
 */
export function parseAdvice(text: string, lines: number, name: string): Map<number, string> {
  const advice = new Map<number, string>();
  for (const [place, row] of text
    .replace(/^\uFEFF/, '')
    .trimEnd()
    .split(/\r\n?|\n/)
    .entries()) {
    const [, number, words = ''] = /^\s*(?:(?:line\s+)?(\d+)\s*[:.)])?\s*(.*?)\s*$/i.exec(row) ?? [];
    if (words === '' || words === '-') continue;
    const line = number === undefined ? place : Number(number) - 1;
    if (line < 0 || line >= lines) {
      throw new ReedtraceError(
        'E_USAGE',
        `'${name}' has a note for line ${line + 1}, and the tune has ${lines}`,
        'begin each note with the number of its line, as in `2: keep it low`',
      );
    }
    advice.set(line, advice.has(line) ? `${advice.get(line)} ${words}` : words);
  }
  return advice;
}
