import { findPhrases } from '../../music/phrases.ts';
import type { BeatOptions } from '../../music/rhythm/beats.ts';
import { isNameOfStanza } from '../../music/words/form.ts';
import { type AlignedWords, alignWords } from '../../music/words/underlay.ts';
import { parseVerses, type Splitting } from '../../music/words/verses.ts';
import { buildBeats, buildPhrases, buildWords, givenBeats, saidOfBeats, sungNotes } from '../music.ts';
import type { Take } from '../schema.ts';
import { withSections } from '../structure.ts';

/** What a player says about a take: its beats (empty for nothing), its sections, and the words of its tune. */
export interface SaidMusic {
  readonly beats: BeatOptions;
  /** Number of the note that the first full bar begins with, 1 for the first. */
  readonly firstBarNote?: number | null;
  /** Names of the sections, in order. */
  readonly form?: readonly string[] | null;
  /** `none` removes the words. */
  readonly words: { readonly text: string; readonly language: Splitting } | 'none' | null;
}

/** A take with what was said about it, and remarks on that, in sentences. */
export interface SetMusic {
  readonly take: Take;
  readonly remarks: readonly string[];
}

/**
 * The take with beats, words and sections as the player says. What was said about beats before still holds unless it is
 * said again; words are laid anew, and their lines become the phrases.
 */
export function setMusic(take: Take, said: SaidMusic): SetMusic {
  const beaten = withBeats(take, said);
  const worded = withWords(beaten.take, said.words);
  const formed = withForm(worded.take, said.form ?? null);
  return { take: formed.take, remarks: [...beaten.remarks, ...worded.remarks, ...formed.remarks] };
}

function withBeats(take: Take, { beats, firstBarNote }: SaidMusic): SetMusic {
  const remarks: string[] = [];
  let said = beats;
  if (firstBarNote != null) {
    const note = take.notes[firstBarNote - 1];
    if (note !== undefined) said = { ...said, downbeatSec: note.onsetSec };
    else
      remarks.push(
        `there is no note ${firstBarNote} to begin the first bar with: the take has ${take.notes.length}`,
      );
  }
  if (Object.keys(said).length === 0) return { take, remarks };
  return { take: { ...take, beats: buildBeats(take.notes, saidOfBeats(givenBeats(take), said)) }, remarks };
}

function withWords(take: Take, words: SaidMusic['words']): SetMusic {
  if (words === null) return { take, remarks: [] };
  if (words === 'none') return { take: withoutWords(take), remarks: [] };
  const laid = alignWords(parseVerses(words.text, words.language), sungNotes(take), take.phrases);
  const phrases =
    laid.lines.length === 0 ? take.phrases : named(buildPhrases(take.notes, laid.lines), take, laid);
  return { take: { ...take, phrases, words: buildWords(take.notes, laid) }, remarks: laid.remarks };
}

/**
 * Lines with the names that the player gave them before, or else those of the stanzas, if there are several. Names that other words
 * gave go with them.
 */
function named(lines: Take['phrases'], { phrases, words }: Take, { stanzas }: AlignedWords): Take['phrases'] {
  const names = new Map(stanzas.length > 1 ? stanzas.map(({ firstNote, name }) => [firstNote, name]) : []);
  for (const { firstNote, name } of phrases) {
    if (name !== undefined && !(words.length > 0 && isNameOfStanza(name))) names.set(firstNote, name);
  }
  return lines.map((line) => {
    const name = names.get(line.firstNote);
    return name === undefined ? line : { ...line, name };
  });
}

/** The take with new names for its sections. */
function withForm(take: Take, form: readonly string[] | null): SetMusic {
  if (form === null) return { take, remarks: [] };
  const formed = withSections(take, form);
  if (formed === null) {
    const lines = take.phrases.length === 1 ? 'one line' : `${take.phrases.length} lines`;
    return {
      take,
      remarks: [
        `the form names ${form.length} sections, and the take has ${lines}: give words (--words), whose lines part it, or set its lines in \`reedtrace correct\``,
      ],
    };
  }
  return { take: formed, remarks: [] };
}

/** The take without words; where its phrases are the lines of the words, they are found again from its notes. */
function withoutWords(take: Take): Take {
  return take.words.length === 0
    ? take
    : { ...take, words: [], phrases: buildPhrases(take.notes, findPhrases(take.notes)) };
}
