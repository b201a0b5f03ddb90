import type { BeatOptions } from '../music/rhythm/beats.ts';
import type { Language } from '../music/words/languages.ts';
import { layWords } from '../music/words/lay.ts';
import { parseVerses } from '../music/words/verses.ts';
import { buildBeats, buildPhrases, buildWords, givenBeats, sungNotes } from './music.ts';
import type { Take } from './schema.ts';

/** What a player says of a take: its beats (empty when nothing), and the words of its tune. */
export interface SaidMusic {
  readonly beats: BeatOptions;
  readonly words: { readonly text: string; readonly language: Language | null } | null;
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
  const laid = layWords(parseVerses(words.text, words.language), sungNotes(beaten), take.phrases);
  const phrases = laid.lines.length === 0 ? take.phrases : buildPhrases(take.notes, laid.lines);
  return { take: { ...beaten, phrases, words: buildWords(take.notes, laid) }, remarks: laid.remarks };
}

/** A metre ends free time, and free time a metre. */
function saidOfBeats(before: BeatOptions, now: BeatOptions): BeatOptions {
  const { free, metre, ...rest } = { ...before, ...now };
  return {
    ...rest,
    ...(free === undefined || now.metre !== undefined ? {} : { free }),
    ...(metre === undefined || now.free ? {} : { metre }),
  };
}
