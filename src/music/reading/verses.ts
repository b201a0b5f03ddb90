import type { MelodyNote } from '../melody.ts';

/** No song has more verses below its notes. */
export const MOST_VERSES = 32;

/** A note as it is written, with the syllables of all verses. */
export interface WrittenNote extends MelodyNote {
  /** Syllables from the second verse on; '' where a verse has none, undefined where the first verse is sung again. */
  readonly laterWords?: readonly (string | undefined)[];
}

/** The note with its syllable in one verse, counted from 1; of a verse that the score does not give, that of the first. */
export function inVerse({ laterWords, ...note }: WrittenNote, verse: number): MelodyNote {
  const word = verse > 1 ? (laterWords?.[verse - 2] ?? note.word) : note.word;
  const { word: _, ...bare } = note;
  return word === undefined || word === '' ? bare : { ...bare, word };
}

/** `laterWords` with the syllable of one verse, counted from 2. */
export function withLaterWord(
  laterWords: readonly (string | undefined)[] | undefined,
  verse: number,
  word: string,
): readonly (string | undefined)[] {
  const words = Array.from(
    { length: Math.max(laterWords?.length ?? 0, verse - 1) },
    (_, i) => laterWords?.[i],
  );
  words[verse - 2] = word;
  return words;
}
