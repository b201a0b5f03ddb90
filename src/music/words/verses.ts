import type { Language, LanguageCode } from './languages.ts';
import { type Stresses, stressesOf } from './spoken.ts';
import { readStanzas, type Stanza, type StanzaKind } from './stanzas.ts';
import { splitWord } from './syllables.ts';

/** A syllable of a verse, in reading order. */
export interface SungSyllable {
  readonly text: string;
  /** Its position in its word. */
  readonly syllabic: 'single' | 'begin' | 'middle' | 'end';
  /** How many more notes it is held through, as marked by hand with `_`. */
  readonly holds: number;
  /** True if it is often sung together with the next one, the first of another word. */
  readonly meets?: true;
  /** Present if rules split its word: `open` if the spelling leaves the number of syllables open, `told` if it settles it. */
  readonly byRule?: 'open' | 'told';
  /** Whether it is stressed, if known. */
  readonly stressed?: boolean;
  /** The language of its stanza, if each stanza is split by its own. */
  readonly lang?: LanguageCode;
}

/** Languages in which some written vowels may or may not be sung. */
const MUTE_VOWELS: ReadonlySet<string> = new Set(['en', 'fr']);

/** Short words that are seldom stressed (common knowledge, no source). */
const UNSTRESSED = new Set(
  'a an the of to in on at and or but my your his her its our their for from with as is was by he she it we you they that if so be are were had has have do will shall can'.split(
    ' ',
  ),
);

/** A stanza with its syllables; no line is empty. */
export interface Verse {
  readonly kind: StanzaKind;
  /** `verse 2`, `refrain`, `bridge`. */
  readonly name: string;
  readonly lines: readonly (readonly SungSyllable[])[];
}

/** How words are split: all in one language, each stanza in its own, or, if null, by hand only. */
export type Splitting = Language | null | ((stanza: Stanza) => Language | null);

/**
 * Reads the words of a song (`readStanzas`). Within a word, `-` splits it by hand; `_` after a syllable holds it through one
 * more note; `~` sings the last syllable of a word together with the first of the next.
 */
export function parseVerses(text: string, splitting: Splitting): Verse[] {
  // Composed (NFC), since the rules are written with whole letters: `é`, not `e` plus an accent.
  return readStanzas(text.normalize('NFC')).flatMap((stanza) => {
    const { kind, name, lines } = stanza;
    const byStanza = typeof splitting === 'function';
    const language = byStanza ? splitting(stanza) : splitting;
    const told = byStanza && language !== null ? { lang: language.code } : {};
    const sung = lines
      .map((line) => readLine(line, language).map((syllable) => ({ ...syllable, ...told })))
      .filter((line) => line.length > 0);
    return sung.length === 0 ? [] : [{ kind, name, lines: sung }];
  });
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
      // A dash or bracket standing alone is not a syllable, but it must not be lost.
      const last = syllables[syllables.length - 1];
      if (last) syllables[syllables.length - 1] = { ...last, text: `${last.text} ${token}` };
      else syllables.push({ text: token, syllabic: 'single', holds: 0 });
    }
  }
  return language === null ? syllables : withMeetings(syllables, language);
}

/** Joins mute vowels to the syllables before them, and marks words that may meet on one note. */
function withMeetings(syllables: readonly SungSyllable[], { meets, elides }: Language): SungSyllable[] {
  const joined: SungSyllable[] = [];
  for (const [i, syllable] of syllables.entries()) {
    const next = syllables[i + 1];
    const ends = (syllable.syllabic === 'single' || syllable.syllabic === 'end') && syllable.holds === 0;
    const seam = ends && next !== undefined ? `${syllable.text.slice(-1)} ${next.text.slice(0, 2)}` : '';
    const isMute = elides?.test(seam) === true;
    const before = joined[joined.length - 1];
    if (isMute && syllable.syllabic === 'end' && syllable.byRule !== undefined && before?.holds === 0) {
      const syllabic = before.syllabic === 'begin' ? 'single' : 'end';
      joined[joined.length - 1] = { ...before, syllabic, text: before.text + syllable.text };
    } else joined.push(isMute || meets?.test(seam) === true ? { ...syllable, meets: true } : syllable);
  }
  return joined;
}

function readWord(token: string, language: Language | null): SungSyllable[] {
  const parts: string[] = [];
  for (const [i, word] of token.replaceAll('_', '').split('~').entries()) {
    const [first, ...rest] = splitWord(word, language);
    if (i === 0) parts.push(first, ...rest);
    else parts.push(`${parts.pop()}~${first}`, ...rest);
  }
  const holds = holdsOf(token, parts);
  const byRule = language !== null && MUTE_VOWELS.has(language.code) ? 'open' : 'told';
  const splitByRule = language !== null && parts.length > 1 && !token.includes('-');
  const stresses = stressesIn(token, parts.length, language);
  return parts.map((part, i) => ({
    text: part.replaceAll('~', ' '),
    syllabic: parts.length === 1 ? 'single' : i === 0 ? 'begin' : i === parts.length - 1 ? 'end' : 'middle',
    holds: holds[i],
    ...(splitByRule ? { byRule } : {}),
    ...(stresses === null ? {} : { stressed: stresses[i] }),
  }));
}

/** Stress of each part of a word; null if unknown, as for most words of one syllable. */
function stressesIn(token: string, parts: number, language: Language | null): Stresses | null {
  const letters = /\p{L}[\p{L}\p{M}'’]*/u.exec(token.replaceAll(/[-_]/g, ''))?.[0];
  if (language === null || letters === undefined || token.includes('~')) return null;
  const pronunciation = language.pronounce(letters);
  if (pronunciation === undefined) return null;
  if (parts === 1) return UNSTRESSED.has(letters.toLowerCase()) ? [false] : null;
  const stresses = stressesOf(pronunciation);
  return stresses.length === parts ? stresses : null;
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
