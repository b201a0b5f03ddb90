import type { Language } from './languages.ts';
import { splitWord } from './syllables.ts';

/** A syllable of a verse, in reading order. */
export interface SungSyllable {
  readonly text: string;
  /** Where it stands in its word. */
  readonly syllabic: 'single' | 'begin' | 'middle' | 'end';
  /** Notes more that it is to be held over, marked by hand with `_`. */
  readonly holds: number;
  /** True when it is often sung together with the next one, the beginning of another word. */
  readonly meets?: true;
}

/** One verse: its lines, each with its syllables; no line is empty. */
export interface Verse {
  readonly lines: readonly (readonly SungSyllable[])[];
}

/**
 * Reads the words of a song. An empty line ends a verse; `-` inside a word splits it by hand, `_` after a syllable
 * holds it over one more note, `~` sings the last syllable of a word with the first of the next; lines that begin with `#` are remarks.
 * @param language  null splits by hand only
 */
export function parseVerses(text: string, language: Language | null): Verse[] {
  const verses: SungSyllable[][][] = [[]];
  // Composed (NFC), since the rules of languages are written with whole letters: `é`, not `e` and an accent.
  for (const raw of text
    .normalize('NFC')
    .replace(/^\uFEFF/, '')
    .split(/\r\n|\r|\n/)) {
    // Words are printed as they are, so they must not steer a terminal.
    const line = raw.replace(/\t/g, ' ').replace(/\p{Cc}/gu, '');
    if (line.trimStart().startsWith('#')) continue;
    const syllables = readLine(line, language);
    if (syllables.length > 0) verses[verses.length - 1].push(syllables);
    else if (verses[verses.length - 1].length > 0) verses.push([]);
  }
  return verses.filter((lines) => lines.length > 0).map((lines) => ({ lines }));
}

function readLine(line: string, language: Language | null): SungSyllable[] {
  const syllables: SungSyllable[] = [];
  for (const token of line.split(/\s+/)) {
    if (/^_+$/.test(token)) {
      const last = syllables[syllables.length - 1];
      if (last) syllables[syllables.length - 1] = { ...last, holds: last.holds + token.length };
    } else if (/[\p{L}\p{N}]/u.test(token)) {
      for (const syllable of readWord(token, language)) syllables.push(syllable);
    } else if (token !== '') {
      // A dash or a bracket on its own is no syllable, but it is not dropped either.
      const last = syllables[syllables.length - 1];
      if (last) syllables[syllables.length - 1] = { ...last, text: `${last.text} ${token}` };
      else syllables.push({ text: token, syllabic: 'single', holds: 0 });
    }
  }
  const meets = language?.meets ?? null;
  return meets === null ? syllables : syllables.map((each, i) => meeting(each, syllables[i + 1], meets));
}

function meeting(syllable: SungSyllable, next: SungSyllable | undefined, meets: RegExp): SungSyllable {
  const endsWord = syllable.syllabic === 'single' || syllable.syllabic === 'end';
  if (next === undefined || !endsWord || syllable.holds > 0) return syllable;
  return meets.test(`${syllable.text.slice(-1)} ${next.text.slice(0, 2)}`)
    ? { ...syllable, meets: true }
    : syllable;
}

function readWord(token: string, language: Language | null): SungSyllable[] {
  const parts: string[] = [];
  for (const [i, word] of token.replaceAll('_', '').split('~').entries()) {
    const [first, ...rest] = splitWord(word, language);
    if (i === 0) parts.push(first, ...rest);
    else parts.push(`${parts.pop()}~${first}`, ...rest);
  }
  const holds = holdsOf(token, parts);
  return parts.map((part, i) => ({
    text: part.replaceAll('~', ' '),
    syllabic: parts.length === 1 ? 'single' : i === 0 ? 'begin' : i === parts.length - 1 ? 'end' : 'middle',
    holds: holds[i],
  }));
}

/** How many `_` follow each part. */
function holdsOf(token: string, parts: readonly string[]): number[] {
  const holds = parts.map(() => 0);
  let letters = 0;
  for (const sign of token) {
    if (sign !== '_') {
      if (sign !== '-') letters += sign.length;
      continue;
    }
    let end = 0;
    const at = parts.findIndex((part) => {
      end += part.replaceAll('-', '').length;
      return end >= letters;
    });
    if (at >= 0) holds[at]++;
  }
  return holds;
}
