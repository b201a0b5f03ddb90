const QUOTE = 0x22;
const BACKSLASH = 0x5c;
const OPENING: ReadonlySet<number> = new Set([0x5b, 0x7b]);
const CLOSING: ReadonlySet<number> = new Set([0x5d, 0x7d]);

/** The deepest nesting of lists and objects in a JSON text, even if the text is cut off. */
export function jsonDepth(text: string): number {
  let depth = 0;
  let deepest = 0;
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if (code === QUOTE) i = endOfString(text, i);
    else if (OPENING.has(code)) deepest = Math.max(deepest, ++depth);
    else if (CLOSING.has(code)) depth--;
  }
  return deepest;
}

/** Position of the closing quote of the string that begins at a quote; the end of the text if there is none. */
function endOfString(text: string, start: number): number {
  let at = start + 1;
  while (at < text.length && text.charCodeAt(at) !== QUOTE) at += text.charCodeAt(at) === BACKSLASH ? 2 : 1;
  return at;
}
