import { plainText } from '../plain-text.ts';

/** A form with more sections is a typing error. */
const MOST_SECTIONS = 100;

/** Names of sections from a form as players write it: `AABA` is four, `verse verse bridge` three; null if it is not a form. */
export function readForm(text: string): string[] | null {
  const words = plainText(text)
    .trim()
    .split(/[\s,]+/u);
  const names = words.length > 1 ? words : [...(words[0].match(/\p{L}\p{M}*['’0-9]*/gu) ?? [])];
  const isSpelt = words.length > 1 || names.join('') === words[0];
  return isSpelt && names.length >= 1 && names.length <= MOST_SECTIONS && names[0] !== '' ? names : null;
}
