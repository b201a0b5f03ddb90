import { findPhrases } from '../../music/phrases.ts';
import type { BeatOptions } from '../../music/rhythm/beats.ts';
import { alignWords } from '../../music/words/underlay.ts';
import { parseVerses, type Splitting } from '../../music/words/verses.ts';
import { buildBeats, buildPhrases, buildWords, givenBeats, saidOfBeats, sungNotes } from '../music.ts';
import type { Take } from '../schema.ts';

/** What a player says of a take: its beats (empty when nothing), and the words of its tune. */
export interface SaidMusic {
  readonly beats: BeatOptions;
  /** `none` takes words away. */
  readonly words: { readonly text: string; readonly language: Splitting } | 'none' | null;
}

/**
 * The take with beats and words as the player says. What was said of beats before holds on where it is not said anew;
 * words are laid anew.
 * @returns also where words and notes differ in number, in sentences
 */
export function setMusic(
  take: Take,
  { beats, words }: SaidMusic,
): { readonly take: Take; readonly remarks: readonly string[] } {
  const beaten =
    Object.keys(beats).length === 0
      ? take
      : { ...take, beats: buildBeats(take.notes, saidOfBeats(givenBeats(take), beats)) };
  if (words === null) return { take: beaten, remarks: [] };
  if (words === 'none') return { take: withoutWords(beaten), remarks: [] };
  const laid = alignWords(parseVerses(words.text, words.language), sungNotes(beaten), take.phrases);
  const phrases = laid.lines.length === 0 ? take.phrases : buildPhrases(take.notes, laid.lines);
  return { take: { ...beaten, phrases, words: buildWords(take.notes, laid) }, remarks: laid.remarks };
}

/** The take without words; where its phrases are the lines of the words, they are found anew from its notes. */
function withoutWords(take: Take): Take {
  return take.words.length === 0
    ? take
    : { ...take, words: [], phrases: buildPhrases(take.notes, findPhrases(take.notes)) };
}
