import { changeTake } from '../../take/edits/change.ts';
import type { TakeSyllable } from '../../take/schema.ts';
import { alignLine, lineUnder, wordsUnder } from '../../take/words.ts';
import { PASTED } from '../input.ts';
import { phraseAt, type Range } from '../state/phrases.ts';
import { type Step, say, type UiState, type WordsMode } from '../state/state.ts';
import { splitGraphemes } from '../view/line.ts';
import { act, type CommandContext, moveTo, still, takeStep } from './act.ts';

/** Languages that Tab goes through, after the one that the words seem to be in. */
const SPLIT_LANGUAGES = ['en', 'de', 'fr', 'es', 'it'] as const;

const wordsMode = (state: UiState) => state.mode as WordsMode;
const here = (state: UiState): Range => state.ranges[phraseAt(state.ranges, state.at)];

/** Opens the line of words of the current phrase. */
export function openWords(state: UiState): UiState {
  const { first, last } = here(state);
  const ids = state.edited.take.notes.slice(first, last + 1).map(({ id }) => id);
  const text = lineUnder(wordsUnder(state.edited.take, state.verse), ids);
  return {
    ...state,
    at: first,
    message: null,
    offer: null,
    mode: {
      kind: 'words',
      text,
      caret: splitGraphemes(text).length,
      split: null,
      pasted: null,
      before: state.edited.take.words,
      kept: text,
      isBegun: false,
    },
  };
}

/** How many verses the take holds; at least one. */
export function verseCount({ edited }: UiState): number {
  return edited.take.words.reduce((most, { verse }) => Math.max(most, verse), 1);
}

/** Keeps the line and goes to another verse of the phrase, of those that there are. */
function goVerse(context: CommandContext): Step {
  const step = draft(context);
  const verse = step.state.verse + (context.key === 'pageup' ? -1 : 1);
  if (verse < 1) return { ...step, state: say(step.state, 'this is the first verse') };
  if (verse > verseCount(step.state)) {
    return { ...step, state: say(step.state, `there is no verse ${verse} yet: Ctrl-N begins one`) };
  }
  return { ...step, state: openWords({ ...step.state, verse }) };
}

/** Keeps the line and begins one more verse. */
function newVerse(context: CommandContext): Step {
  const step = draft(context);
  const verse = verseCount(step.state) + 1;
  return { ...step, state: say(openWords({ ...step.state, verse }), `verse ${verse}`) };
}

/** The line that is being typed, as it would fall: under the notes of its phrase and no others. */
export function alignTyped(state: UiState): {
  syllables: readonly TakeSyllable[];
  over: number;
  ids: string[];
} {
  const { first, last } = here(state);
  const ids = state.edited.take.notes.slice(first, last + 1).map(({ id }) => id);
  const { syllables, over } = alignLine(wordsMode(state).text, ids, state.verse);
  return { syllables, over, ids };
}

/** Keeps the line as it is typed so far, and leaves it open. */
export function draft(context: CommandContext): Step {
  const { state } = context;
  const mode = wordsMode(state);
  if (mode.text === mode.kept) return still(state);
  const { syllables, ids } = alignTyped(state);
  // From the words of before, since syllables without a note would come once more each time.
  const from = { ...state.edited.take, words: mode.before };
  const { words } = changeTake(from, { kind: 'words', verse: state.verse, ids, syllables });
  const step = act(context, { kind: 'verses', words }, '', { joins: mode.isBegun });
  const isBegun = mode.isBegun || step.effects.length > 0;
  return {
    ...step,
    state: { ...step.state, message: state.message, mode: { ...mode, kept: mode.text, isBegun } },
  };
}

function keep(context: CommandContext): Step {
  const { over } = alignTyped(context.state);
  const step = draft(context);
  const closed: UiState = { ...step.state, mode: { kind: 'notes' }, message: null };
  return { ...step, state: over === 0 ? closed : say(closed, withoutNote(over)) };
}

/** Leaves the words as they were when the line was opened. */
function leave(context: CommandContext): Step {
  const { state } = context;
  const { before, isBegun } = wordsMode(state);
  const step = isBegun ? act(context, { kind: 'verses', words: before }, '', { joins: true }) : still(state);
  return { ...step, state: { ...step.state, mode: { kind: 'notes' }, message: null } };
}

/** Signs and syllables of a line, and the blanks between them. */
const PIECES = /\s+|_|\*|[^-_*\s]+-*|-+/gu;

/** Keeps what finds a note here, and carries the rest to the beginning of the next phrase. */
function carryRest(context: CommandContext): Step {
  const { state } = context;
  const { over, ids } = alignTyped(state);
  const next = state.ranges[phraseAt(state.ranges, state.at) + 1];
  if (over === 0) return still(say(state, 'all syllables have a note'));
  if (next === undefined) return still(say(state, 'this is the last phrase'));
  const mode = wordsMode(state);
  let fits = '';
  for (const [piece] of mode.text.matchAll(PIECES)) {
    if (alignLine(fits + piece, ids, state.verse).over > 0) break;
    fits += piece;
  }
  const rest = mode.text.slice(fits.length).trim();
  const kept = draft({ ...context, state: { ...state, mode: { ...mode, text: fits.trimEnd() } } });
  const open = openWords({ ...kept.state, at: next.first });
  const there = wordsMode(open);
  const text = there.text === '' ? rest : `${rest} ${there.text}`;
  const caret = splitGraphemes(rest).length;
  return { ...kept, state: { ...open, mode: { ...there, text, caret } } };
}

/** Keeps the line and goes to the phrase before or after; at both ends the line stays open. */
function goPhrase(context: CommandContext): Step {
  const step = draft(context);
  const back = context.key === 'up';
  const range = step.state.ranges[phraseAt(step.state.ranges, step.state.at) + (back ? -1 : 1)];
  if (range === undefined) {
    return { ...step, state: say(step.state, `this is the ${back ? 'first' : 'last'} phrase`) };
  }
  return { ...step, state: openWords(moveTo(step.state, range.first)) };
}

/** What is said of syllables that were kept without a note. */
function withoutNote(over: number): string {
  return over === 1
    ? '1 syllable found no note; it stands after the tab'
    : `${over} syllables found no note; they stand after the tab`;
}

function type(state: UiState, typed: string): UiState {
  const mode = wordsMode(state);
  const characters = splitGraphemes(mode.text);
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is dropped
  const clean = typed.replace(/[\u0000-\u001f\u007f-\u009f]/g, ' ');
  const before = characters.slice(0, mode.caret).join('') + clean;
  const text = before + characters.slice(mode.caret).join('');
  return {
    ...state,
    mode: { ...mode, text, caret: splitGraphemes(before).length, split: null, pasted: null },
  };
}

function rub(state: UiState, key: string): UiState {
  const mode = wordsMode(state);
  const characters = splitGraphemes(mode.text);
  const at = key === 'delete' ? mode.caret : mode.caret - 1;
  if (at < 0 || at >= characters.length) return state;
  characters.splice(at, 1);
  return { ...state, mode: { ...mode, text: characters.join(''), caret: at, split: null, pasted: null } };
}

function moveCaret(state: UiState, key: string): UiState {
  const mode = wordsMode(state);
  const last = splitGraphemes(mode.text).length;
  const to = { left: mode.caret - 1, right: mode.caret + 1, home: 0, end: last }[key] ?? mode.caret;
  return { ...state, mode: { ...mode, caret: Math.max(0, Math.min(last, to)) } };
}

/** Types a text at the caret, apart from the words before and after it. */
function typeApart(state: UiState, line: string): UiState {
  const { text, caret } = wordsMode(state);
  const [before = ' ', after = ' '] = [caret - 1, caret].map((at) => splitGraphemes(text)[at]);
  return type(state, `${before === ' ' ? '' : ' '}${line}${after === ' ' ? '' : ' '}`);
}

/**
 * The line ends of a pasted text as `\n`. Terminals send each as a carriage return, and some send two for the two
 * characters that end a line on Windows: where all come in pairs, a pair is one.
 */
function unixLines(text: string): string {
  const ends = text.trim().match(/\r+/g) ?? [];
  const inPairs = !text.includes('\n') && ends.every(({ length }) => length % 2 === 0);
  return text.replace(inPairs ? /\r\r/g : /\r\n?/g, '\n');
}

/** The lines of a pasted text by verse, which empty lines part. */
function versesOf(text: string): string[][] {
  return unixLines(text)
    .split(/\n[^\S\n]*(?:\n[^\S\n]*)+/)
    .map((verse) => verse.split('\n').filter((line) => line.trim() !== ''))
    .filter((lines) => lines.length > 0);
}

/**
 * A pasted text. One line is typed; of several each goes under the next phrase, those after the last phrase with its
 * line, and after an empty line the next verse begins where the first did. All of it is one change; the line stays
 * open where the text begins.
 */
function paste(context: CommandContext, text: string): Step {
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
  const step = act(context, { kind: 'verses', words }, 'the words are as they were');
  const count = verses.length === 1 ? '' : `${verses.length} verses, `;
  const said = `${count}${verses.flat().length} lines pasted${over === 0 ? '' : `; ${withoutNote(over)}`}`;
  const open = openWords(step.state);
  // What changed nothing can't be taken back for being split.
  const pasted = step.effects.length === 0 ? null : { text, into: wordsMode(state) };
  return { ...step, state: say({ ...open, mode: { ...wordsMode(open), pasted } }, said) };
}

/** What Tab splits: all that was pasted just now, or the line as it was before it was split. */
const unsplitText = ({ text, split, pasted }: WordsMode): string => pasted?.text ?? split?.unsplit ?? text;

/** Asks for the words to be split: by the language used last, or by the next when they are split by that. */
function askToSplit(state: UiState): Step {
  const mode = wordsMode(state);
  const now = SPLIT_LANGUAGES.indexOf(mode.split?.language as (typeof SPLIT_LANGUAGES)[number]);
  const language = mode.split === null ? state.language : SPLIT_LANGUAGES[(now + 1) % SPLIT_LANGUAGES.length];
  return { state, effects: [{ kind: 'split-words', text: unsplitText(mode), language }] };
}

/** Puts words that were split in the place of those that they were made of, if these are still there. */
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

/** What a key does while words are typed; keys without a command are text. */
export function wordsKey(context: CommandContext, command: string | undefined): Step {
  const { state, key } = context;
  switch (command) {
    case 'words-done':
      return keep(context);
    case 'words-leave':
      return leave(context);
    case 'caret':
      return still(moveCaret(state, key));
    case 'rub':
      return still(rub(state, key));
    case 'words-phrase':
      return goPhrase(context);
    case 'words-verse':
      return goVerse(context);
    case 'words-new-verse':
      return newVerse(context);
    case 'words-rest':
      return carryRest(context);
    case 'split-words':
      return askToSplit(state);
    case 'join':
      return still(type(state, '~'));
    default:
      if (key.startsWith(PASTED)) return paste(context, key.slice(PASTED.length));
      return still(key.length === 1 || splitGraphemes(key).length === 1 ? type(state, key) : state);
  }
}
