import type { SheetWords } from '../tab/words-rows.ts';
import type { Take } from '../take/schema.ts';
import { buildScore, leftOverInWords } from './score.ts';
import { wordText } from './tab.ts';

/** The words of a take for its printed tab, the same that `export` writes. */
export function sheetWords(take: Take): SheetWords {
  const score = buildScore(take, '');
  const verses = Array.from({ length: score.verses }, (_, verse) => verse);
  const under = score.notes.map(
    (note) => [note.played.id, verses.map((verse) => wordText(note, verse))] as const,
  );
  return { under: new Map(under), verses: score.verses, leftOver: leftOverInWords(score) };
}
