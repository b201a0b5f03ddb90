import { plainText } from '../plain-text.ts';
import type { Take, TakeSyllable } from './schema.ts';

/** The first verse, in which a line of words is laid if none is named. */
export const FIRST_VERSE = 1;

type Token =
  | { readonly kind: 'syllable'; readonly text: string; readonly goesOn: boolean }
  | { readonly kind: 'hold' | 'skip' };

/**
 * Signs of a line of words: `-` between syllables, `_` holds one over the next note, `*` leaves a note out, `~` puts
 * two words on one note (as the `w:` lines of ABC 2.1 have them).
 */
function tokens(line: string): Token[] {
  const found: Token[] = [];
  for (const word of plainText(line).trim().split(/\s+/)) {
    for (const [piece] of word.matchAll(/_|\*|[^-_*]+-*|-+/gu)) {
      const text = piece.replace(/-+$/u, '').replaceAll('~', ' ');
      if (piece === '_') found.push({ kind: 'hold' });
      else if (piece === '*') found.push({ kind: 'skip' });
      else if (text.trim() !== '') found.push({ kind: 'syllable', text, goesOn: text.length < piece.length });
    }
  }
  return found;
}

/** A line of words laid under notes. */
export interface AlignedLine {
  readonly syllables: readonly TakeSyllable[];
  /** Syllables without a note. */
  readonly over: number;
  /** How many of the notes the line reaches. */
  readonly notes: number;
}

/** Lays a line of words under notes, one syllable per note. */
export function alignLine(line: string, noteIds: readonly string[], verse = FIRST_VERSE): AlignedLine {
  const syllables: TakeSyllable[] = [];
  let over = 0;
  let at = 0;
  let inWord = false;
  for (const token of tokens(line)) {
    const noteId = noteIds[at++];
    const last = syllables.at(-1);
    if (token.kind === 'syllable') {
      if (noteId === undefined) over++;
      const syllabic = token.goesOn ? (inWord ? 'middle' : 'begin') : inWord ? 'end' : 'single';
      syllables.push({ verse, text: token.text, syllabic, noteId: noteId ?? null, holds: 0 });
      inWord = token.goesOn;
    } else if (token.kind === 'hold' && last !== undefined && noteId !== undefined) {
      syllables[syllables.length - 1] = { ...last, holds: last.holds + 1 };
    }
  }
  return { syllables, over, notes: Math.min(at, noteIds.length) };
}

/** True when more of the word follows this syllable. */
export function goesOn({ syllabic }: Pick<TakeSyllable, 'syllabic'>): boolean {
  return syllabic === 'begin' || syllabic === 'middle';
}

/** Syllables as a line of words, one per note. */
export function lineOfSyllables(syllables: readonly TakeSyllable[]): string {
  return syllables
    .map((each) => printSyllable(each).replaceAll(' ', '~'))
    .join(' ')
    .replaceAll('- ', '-');
}

/** How a syllable is printed, with a hyphen if its word continues. */
export function printSyllable(syllable: Pick<TakeSyllable, 'text' | 'syllabic'>): string {
  return goesOn(syllable) ? `${syllable.text}-` : syllable.text;
}

/** What one verse has under each note of a take: a syllable, `_` where one is held, nothing otherwise. */
export function wordsUnder(
  take: Pick<Take, 'notes' | 'words'>,
  verse = FIRST_VERSE,
): ReadonlyMap<string, string> {
  const place = new Map(take.notes.map(({ id }, i) => [id, i]));
  const sung = take.words.filter((syllable) => syllable.verse === verse);
  const begun = new Set(sung.map(({ noteId }) => noteId));
  const under = new Map<string, string>();
  for (const syllable of sung) {
    if (syllable.noteId === null) continue;
    under.set(syllable.noteId, printSyllable(syllable));
    const at = place.get(syllable.noteId);
    if (at === undefined) continue;
    for (const { id } of take.notes.slice(at + 1, at + 1 + syllable.holds)) {
      // Held until the next syllable at most.
      if (begun.has(id)) break;
      under.set(id, '_');
    }
  }
  return under;
}

/** The line of words for what is under these notes: the inverse of `alignLine`. */
export function lineUnder(under: ReadonlyMap<string, string>, noteIds: readonly string[]): string {
  const last = noteIds.reduce((at, id, i) => (under.has(id) ? i : at), -1);
  let line = '';
  for (const id of noteIds.slice(0, last + 1)) {
    const text = (under.get(id) ?? '*').replaceAll(' ', '~');
    line += line === '' || line.endsWith('-') || text === '_' ? text : ` ${text}`;
  }
  return line;
}
