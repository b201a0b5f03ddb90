/**
 * Characters that control a terminal or reorder text: control characters, line separators and marks of writing
 * direction (Unicode Standard Annex 9, section 2, with U+061C).
 */
const STEERING = /[\p{Cc}\u2028\u2029\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/gu;
const BLANK = /[\t\n\v\f\r\u2028\u2029]/u;

/** Text without control sequences: tabs and line breaks become spaces, the rest is removed. For titles, names and words. */
export function plainText(text: string): string {
  return text.replace(STEERING, (character) => (BLANK.test(character) ? ' ' : ''));
}

/** Text with such characters written as `\xNN` or `\uNNNN`, so that nothing is hidden. For file names in messages. */
export function visibleText(text: string): string {
  return text.replace(STEERING, (character) => {
    const code = character.charCodeAt(0);
    return code < 256
      ? `\\x${code.toString(16).padStart(2, '0')}`
      : `\\u${code.toString(16).padStart(4, '0')}`;
  });
}

/** Text of at most this many characters; a longer one has `…` in its middle. */
export function shortened(text: string, most: number): string {
  const half = Math.floor((most - 1) / 2);
  return text.length <= most ? text : `${text.slice(0, half)}…${text.slice(text.length - half)}`;
}
