import type { TakeSyllable } from '../../take/schema.ts';
import { alignLine } from '../../take/words.ts';
import { phraseAt, type Range } from './phrases.ts';
import type { UiState, WordsMode } from './state.ts';

/** The line that is being typed. */
export const wordsMode = (state: UiState) => state.mode as WordsMode;
/** The phrase of that line. */
export const phraseHere = (state: UiState): Range => state.ranges[phraseAt(state.ranges, state.at)];

/** How many verses the take holds; at least one. */
export function verseCount({ edited }: UiState): number {
  return edited.take.words.reduce((most, { verse }) => Math.max(most, verse), 1);
}

/** The line that is being typed, laid under the notes of its phrase and no others. */
export function alignTyped(state: UiState): {
  syllables: readonly TakeSyllable[];
  over: number;
  ids: string[];
} {
  const { first, last } = phraseHere(state);
  const ids = state.edited.take.notes.slice(first, last + 1).map(({ id }) => id);
  const { syllables, over } = alignLine(wordsMode(state).text, ids, state.verse);
  return { syllables, over, ids };
}

/** Syllables of this verse that have no note, apart from those of the line itself. */
export function lostSyllables(state: UiState): readonly TakeSyllable[] {
  const { before, gotBack } = wordsMode(state);
  return before.filter(
    (each) => each.noteId === null && each.verse === state.verse && !gotBack.includes(each),
  );
}
