import { cutAsInDictionaries, jointOf } from './english-cuts.ts';
import type { Language } from './languages.ts';
import { asSpoken } from './spoken.ts';

/** Consonants that begin a syllable together; other clusters are divided. */
const TOGETHER = /(?:[bcdfgkptv]r|[bcfgkp]l|ch|ck|sch|(?<!s)sh|th|ph|wh|qu|ñ|gn|gli|sc[ei]|st|sp)$/;
/** A hyphen between letters, also of a word that leaves some out: `gath-'ring`. */
const BY_HAND = /(?<=\p{L}\p{M}*['’]?)-(?=['’]?\p{L})/u;
/** In Spanish these are single letters. */
const SPANISH_TOGETHER = /(?:ll|rr)$/;

/**
 * The syllables of a word as they are sung: split at the player's own hyphens if there are any, else by the language's
 * hyphenation patterns. Where those leave two vowels together (typesetters never break `o-ver`), by its vowels.
 * @param word  one word with its punctuation
 * @param language  null to split at hyphens only
 * @returns at least one syllable; joined they give the word without its hyphens
 */
export function splitWord(word: string, language: Language | null): string[] {
  const byHand = word.split(BY_HAND);
  if (byHand.length > 1) {
    if (!language?.spelled?.test(bareEnd(word))) return byHand;
    return byHand.flatMap((part) => splitWord(part, language));
  }
  if (language === null) return [word];
  const core = /\p{L}[\p{L}\p{M}'’]*/u.exec(word);
  if (core === null) return [word];
  const parts = splitLetters(core[0], language);
  parts[0] = word.slice(0, core.index) + parts[0];
  parts[parts.length - 1] += word.slice(core.index + core[0].length);
  return parts;
}

/** A word without the punctuation that follows it. */
function bareEnd(word: string): string {
  return word.replace(/[^\p{L}]+$/u, '');
}

function splitLetters(letters: string, language: Language): string[] {
  const lower = letters.toLowerCase();
  const exception = language.exceptions.find((split) => split.replaceAll('-', '') === lower);
  if (exception !== undefined) return cutLike(letters, exception.split('-'));
  const joint = language.code === 'en' ? jointOf(lower, language.pronounce) : 0;
  if (joint > 0)
    return [letters.slice(0, joint), letters.slice(joint)].flatMap((part) => splitLetters(part, language));
  const pieces = language.hyphenate(letters).split('-');
  const cut: string[] = [];
  for (const [i, piece] of pieces.entries()) {
    for (const part of splitByVowels(piece, language, i === pieces.length - 1)) cut.push(part);
  }
  const parts = joinVowelless(cut, language);
  const pronunciation = language.pronounce(letters);
  if (pronunciation === undefined) return parts;
  return cutAsInDictionaries(asSpoken(parts, pronunciation), pronunciation, language.pronounce);
}

function cutLike(letters: string, parts: readonly string[]): string[] {
  let from = 0;
  return parts.map((part) => {
    const piece = letters.slice(from, from + part.length);
    from += part.length;
    return piece;
  });
}

/** Splits between vowel groups: before a single consonant; in a cluster, at the point where a syllable can begin. */
function splitByVowels(piece: string, language: Language, last: boolean): string[] {
  const groups = vowelGroups(piece, language, last);
  if (groups.length < 2) return [piece];
  const parts: string[] = [];
  let from = 0;
  for (let i = 1; i < groups.length; i++) {
    const cut = groups[i].start - onsetLength(piece.slice(groups[i - 1].end, groups[i].start), language);
    parts.push(piece.slice(from, cut));
    from = cut;
  }
  return [...parts, piece.slice(from)];
}

/** The last letter of a text, with its diacritics and an apostrophe. */
const LAST_LETTER = /.\p{M}*['’]?$/su;

/** How much of the text between two vowels begins the second one's syllable, in code units. */
function onsetLength(between: string, { code }: Language): number {
  const lower = between.toLowerCase();
  const pair = TOGETHER.exec(lower) ?? (code === 'es' ? SPANISH_TOGETHER.exec(lower) : null);
  return (pair ?? LAST_LETTER.exec(between))?.[0].length ?? 0;
}

/** Where each sung vowel or diphthong is. */
function vowelGroups(
  piece: string,
  { vowels, hiatus, silentEnd }: Language,
  last: boolean,
): { start: number; end: number }[] {
  const text = piece.toLowerCase();
  const groups: { start: number; end: number }[] = [];
  for (let i = 0; i < text.length; i++) {
    const silent = text[i] === 'u' && text[i - 1] === 'q';
    const consonantal = text[i] === 'y' && i === 0 && text.length > 1 && vowels.includes(text[1]);
    if (!vowels.includes(text[i]) || silent || consonantal) continue;
    const before = groups[groups.length - 1];
    // In `o’er` and `ne’er` the omitted consonant is not sung, and the two vowels are one syllable.
    const contracted = before?.end === i - 1 && /['’]/.test(text[i - 1]);
    if (contracted || (before?.end === i && !hiatus?.test(text.slice(i - 1, i + 1)))) before.end = i + 1;
    else groups.push({ start: i, end: i + 1 });
  }
  if (last && groups.length > 1 && silentEnd?.test(text)) groups.pop();
  return groups;
}

/** A part without a vowel is not a syllable and joins the one before it. */
function joinVowelless(parts: readonly string[], { vowels }: Language): string[] {
  const joined: string[] = [];
  for (const part of parts) {
    const sung = [...part.toLowerCase()].some((letter) => vowels.includes(letter));
    if (sung || joined.length === 0) joined.push(part);
    else joined[joined.length - 1] += part;
  }
  return joined;
}
