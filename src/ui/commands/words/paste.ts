import { splitGraphemes } from '../../../text/graphemes.ts';
import { phraseAt } from '../../state/phrases.ts';
import { type Step, say, type UiState, type WordsMode } from '../../state/state.ts';
import { alignTyped, wordsMode } from '../../state/typed-words.ts';
import { act, type CommandContext, still, takeStep } from '../act.ts';
import { keep, openWords, typeApart, withoutNote } from './line.ts';

/** Languages that Tab cycles through, after the one that was guessed. */
const SPLIT_LANGUAGES = ['en', 'de', 'fr', 'es', 'it'] as const;

/**
 * Converts the line ends of a pasted text to `\n`. Terminals send a carriage return for each, and some send two for a
 * Windows line end: if all come in pairs, a pair is one line end.
 */
function unixLines(text: string): string {
  const ends = text.trim().match(/\r+/g) ?? [];
  const inPairs = !text.includes('\n') && ends.every(({ length }) => length % 2 === 0);
  return text.replace(inPairs ? /\r\r/g : /\r\n?/g, '\n');
}

/** The lines of a pasted text by verse; empty lines separate verses. */
function versesOf(text: string): string[][] {
  return unixLines(text)
    .split(/\n[^\S\n]*(?:\n[^\S\n]*)+/)
    .map((verse) => verse.split('\n').filter((line) => line.trim() !== ''))
    .filter((lines) => lines.length > 0);
}

/**
 * Handles pasted text. A single line is typed. Several lines go under one phrase after another; those beyond the last
 * phrase are added to its line, and after an empty line the next verse starts where the first did. All of it is one
 * change; the line where the text starts stays open.
 */
export function paste(context: CommandContext, text: string): Step {
  const verses = versesOf(text);
  if (verses.flat().length < 2) return still(typeApart(context.state, verses[0]?.[0] ?? text));
  const { state } = context;
  const first = phraseAt(state.ranges, state.at);
  const lastPhrase = state.ranges.length - 1;
  let laid = state;
  let over = 0;
  verses.forEach((lines, v) => {
    for (let i = 0; i < lines.length && first + i <= lastPhrase; i++) {
      const line = first + i === lastPhrase ? lines.slice(i).join(' ') : lines[i];
      const at = state.ranges[first + i].first;
      const begun = v === 0 && i === 0 ? laid : openWords({ ...laid, at, verse: state.verse + v });
      const typed = typeApart(begun, line);
      over += alignTyped(typed).over;
      laid = keep({ ...context, state: typed }).state;
    }
  });
  const { words } = laid.edited.take;
  const step = act(context, { kind: 'verses', words }, 'the words are unchanged');
  const count = verses.length === 1 ? '' : `${verses.length} verses, `;
  const said = `${count}${verses.flat().length} lines pasted${over === 0 ? '' : `; ${withoutNote(over)}`}`;
  const open = openWords(step.state);
  // A paste that changed nothing can't be undone to be split.
  const pasted = step.effects.length === 0 ? null : { text, into: wordsMode(state) };
  return { ...step, state: say({ ...open, mode: { ...wordsMode(open), pasted } }, said) };
}

/** What Tab splits: everything just pasted, or the line as it was before splitting. */
const unsplitText = ({ text, split, pasted }: WordsMode): string => pasted?.text ?? split?.unsplit ?? text;

/** Asks for the words to be split in the language used last, or in the next one if they already are. */
export function askToSplit(state: UiState): Step {
  const mode = wordsMode(state);
  const now = SPLIT_LANGUAGES.indexOf(mode.split?.language as (typeof SPLIT_LANGUAGES)[number]);
  const language = mode.split === null ? state.language : SPLIT_LANGUAGES[(now + 1) % SPLIT_LANGUAGES.length];
  return { state, effects: [{ kind: 'split-words', text: unsplitText(mode), language }] };
}

/** Replaces words with their split version, if they are still there. */
export function putSplit(
  context: CommandContext,
  { of, text, language }: { of: string; text: string; language: string },
): Step {
  const { mode } = context.state;
  if (mode.kind !== 'words' || unsplitText(mode) !== of) return still(context.state);
  const split = { language, unsplit: of };
  if (mode.pasted === null) {
    const caret = splitGraphemes(text).length;
    return still({ ...context.state, language, mode: { ...mode, text, caret, split } });
  }
  const back = takeStep(context, 'undo');
  const { at, verse } = context.state;
  const step = paste({ ...context, state: { ...back.state, at, verse, mode: mode.pasted.into } }, text);
  const laid = wordsMode(step.state);
  const pasted = laid.pasted === null ? null : mode.pasted;
  return {
    state: { ...step.state, language, mode: { ...laid, split, pasted } },
    effects: [...back.effects, ...step.effects],
  };
}
