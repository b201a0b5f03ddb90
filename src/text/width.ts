import { createRequire } from 'node:module';

/** Characters one column wide: spaces, Latin letters, musical signs, arrows, boxes, blocks and dots. */
const NARROW =
  /^[\x20-\x7e\u00a0-\u00ac\u00ae-\u024f\u2010-\u2027\u2190-\u21ff\u2260\u2500-\u25ff\u2669-\u266f\u2800-\u28ff]*$/;

let widthOfAny: ((text: string) => number) | undefined;

/** Columns that a text takes on a terminal. */
export function textColumns(text: string): number {
  if (NARROW.test(text)) return text.length;
  // Loaded only when needed: it takes 35 ms, mostly for Unicode tables that most takes can do without.
  widthOfAny ??= createRequire(import.meta.url)('string-width').default as (text: string) => number;
  return widthOfAny(text);
}
