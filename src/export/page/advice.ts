import { ReedtraceError } from '../../errors.ts';
import type { Take } from '../../take/schema.ts';

/**
 * Reads what a teacher says about the lines of a tune, one remark per line of text: `2: keep it low`. Without a number
 * it is for the line of the tune in the same place; an empty line or `-` says nothing.
 * @returns remarks by line of the tune, the first at 0
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

/**
 * What the teacher said about a take in the correction screen, by line; what was said about the whole comes before the first.
 * @param lines  the lines of the tune: positions of their notes
 */
export function adviceOfTake(
  { advice, phrases }: Take,
  lines: readonly { readonly first: number; readonly last: number }[],
): Map<number, string> {
  const said = new Map<number, string>();
  lines.forEach(({ first, last }, line) => {
    const phrase = phrases.find(({ firstNote, lastNote }) => firstNote <= last && lastNote >= first);
    const words = [line === 0 ? advice : undefined, phrase?.advice].filter((each) => each !== undefined);
    if (words.length > 0) said.set(line, words.join(' '));
  });
  return said;
}
