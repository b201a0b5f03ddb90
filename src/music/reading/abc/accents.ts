/** Combining marks, by the sign of a mnemonic and by the ending of a named entity (ABC 2.1, section 8.2). */
const BY_SIGN: Readonly<Record<string, string>> = {
  '`': '\u0300',
  "'": '\u0301',
  '^': '\u0302',
  '~': '\u0303',
  '"': '\u0308',
  c: '\u0327',
  u: '\u0306',
  v: '\u030c',
  H: '\u030b',
};
const BY_NAME: Readonly<Record<string, string>> = {
  grave: '\u0300',
  acute: '\u0301',
  circ: '\u0302',
  tilde: '\u0303',
  uml: '\u0308',
  ring: '\u030a',
  cedil: '\u0327',
  caron: '\u030c',
};
const LETTERS: Readonly<Record<string, string>> = {
  ss: 'ß',
  ae: 'æ',
  AE: 'Æ',
  oe: 'œ',
  OE: 'Œ',
  aa: 'å',
  AA: 'Å',
  '/o': 'ø',
  '/O': 'Ø',
};

/** Text of an ABC file with its mnemonics (`\"u`), named entities (`&uuml;`) and code points (`\u00fc`) as letters. */
export function withAccents(text: string): string {
  if (!/[\\&]/.test(text)) return text;
  return text
    .replace(/\\u([0-9a-f]{4})/gi, (_, code: string) => String.fromCharCode(Number.parseInt(code, 16)))
    .replace(/\\(ss|ae|AE|oe|OE|aa|AA|\/[oO])/g, (_, letter: string) => LETTERS[letter])
    .replace(/\\([`'^~"cuvH])([A-Za-z])/g, (written, sign: string, letter: string) =>
      joined(letter, BY_SIGN[sign], written),
    )
    .replace(/&([A-Za-z])([a-z]{3,5});/g, (written, letter: string, name: string) =>
      joined(letter, BY_NAME[name], written),
    )
    .replace(/&amp;/g, '&');
}

/** A letter with its mark; as written if there is no such letter. */
function joined(letter: string, mark: string | undefined, written: string): string {
  const one = `${letter}${mark ?? ''}`.normalize('NFC');
  return mark !== undefined && one.length === 1 ? one : written;
}
