/**
 * One token of a music line; the first matching alternative wins. Bracketed text has a maximum length, because otherwise each
 * unclosed bracket would be searched for to the end of the line.
 */
export const TOKEN = new RegExp(
  [
    String.raw`(?<text>"[^"]{0,500}"|![^!\s]{0,50}!|\+[a-z]\w{0,50}\+|\{[^}]{0,500}\})`,
    String.raw`\[(?<field>[A-Za-z]):(?<value>[^\]]{0,500})\]`,
    String.raw`(?<ending>\[\d[\d,-]*|(?<=[|:])\d[\d,-]*)`,
    String.raw`(?<bar>:*\|[|:\]]*|\[\||::+)`,
    String.raw`\[(?<chord>[^\]|:]{1,200})\](?<chordLength>[\d/]*)(?<chordTie>-?)`,
    String.raw`(?<sign>\^{1,2}|_{1,2}|=)?(?<letter>[A-Ga-g])(?<octave>[,']*)(?<length>[\d/]*)(?<tie>-?)`,
    String.raw`(?<rest>[zxZX])(?<restLength>[\d/]*)`,
    String.raw`\((?<p>[2-9])(?::(?<q>\d*))?(?::(?<r>\d*))?`,
    '(?<broken><+|>+)',
    String.raw`(?<passed>[\s()~.\x60y\\$*HLMOPSTuv-])`,
    '(?<strange>.)',
  ].join('|'),
  'gu',
);
/** The parts of a token, by the group names in `TOKEN`; undefined for groups that did not match. */
export type TokenParts = Readonly<Record<string, string>>;

/** One note inside a chord. */
export const CHORD_NOTE = /(\^{1,2}|_{1,2}|=)?([A-Ga-g])([,']*)([\d/]*)/g;

/** `1/8` as a number; null if it is not a fraction. */
export function fraction(text: string): number | null {
  const match = /^(\d+)(?:\/(\d+))?$/.exec(text.trim());
  const value = match ? Number(match[1]) / Number(match[2] ?? 1) : 0;
  return value > 0 && Number.isFinite(value) ? value : null;
}

/** Length after a note: nothing is 1, `2` 2, `/` 1/2, `//` 1/4, `/4` 1/4, `3/2` 1.5; NaN or 0 if invalid. */
export function fractionOf(text: string): number {
  const match = /^(\d*)(\/*)(\d*)$/.exec(text);
  if (!match) return Number.NaN;
  const over = match[1] === '' ? 1 : Number(match[1]);
  if (match[2] === '') return over;
  return match[3] === '' ? over / 2 ** match[2].length : over / Number(match[3]);
}
