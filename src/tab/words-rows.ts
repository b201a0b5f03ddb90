import type { TabStyle } from './text.ts';
import { readsAsWords } from './text-file.ts';

/** Words to print under the tab. */
export interface SheetWords {
  /** By note id, the syllable of each verse; `''` for none. */
  readonly under: ReadonlyMap<string, readonly string[]>;
  readonly verses: number;
  /** Words without a note, in lines. */
  readonly leftOver: readonly string[];
}

export const NO_WORDS: SheetWords = { under: new Map(), verses: 0, leftOver: [] };

/** Words such as "1 2 3" are marked, so that they are not read as tab. */
export function wordsLine(line: string, style: TabStyle): string {
  return readsAsWords(line, style) ? line : `#${line.startsWith(' ') ? line.slice(1) : ` ${line}`}`;
}

/** Words without a note, in lines of their own followed by an empty line; no lines when there are none. */
export function leftOverLines(
  { leftOver }: SheetWords,
  prose: (text: string) => string[],
  style: TabStyle,
): string[] {
  if (leftOver.length === 0) return [];
  const lines = leftOver.flatMap((text) => prose(text).map((line) => wordsLine(line, style)));
  return ['Words without a note:', ...lines, ''];
}
