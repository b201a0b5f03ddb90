import type { TakeSyllable } from '../take/schema.ts';
import { layLine, lineUnder, wordsUnder } from '../take/words.ts';
import { act, type CommandContext, moveTo } from './act.ts';
import { PASTED } from './input.ts';
import { splitGraphemes } from './line.ts';
import { phraseAt, type Range } from './phrases.ts';
import { type Mode, type Step, say, type UiState } from './state.ts';

/** Languages that Tab goes through. */
const SPLIT_LANGUAGES = ['en', 'de', 'fr', 'es', 'it'] as const;

type WordsMode = Mode & { kind: 'words' };
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
    mode: { kind: 'words', text, caret: splitGraphemes(text).length, language: null },
  };
}

/** How many verses the take holds; at least one. */
export function verseCount({ edited }: UiState): number {
  return edited.take.words.reduce((most, { verse }) => Math.max(most, verse), 1);
}

/** Keeps the line and goes to another verse of the phrase; after the last there is one more, to be written. */
function goVerse(context: CommandContext): Step {
  const step = keep(context);
  const to = step.state.verse + (context.key === 'pageup' ? -1 : 1);
  const verse = Math.max(1, Math.min(verseCount(step.state) + 1, to));
  return { ...step, state: openWords({ ...step.state, verse }) };
}

/** The notes that a line may fall under: those of the phrase, then those after it up to the next that has words. */
export function wordsReach(state: UiState): string[] {
  const { notes } = state.edited.take;
  const { first, last } = here(state);
  const under = wordsUnder(state.edited.take, state.verse);
  let end = last + 1;
  while (end < notes.length && !under.has(notes[end].id)) end++;
  return notes.slice(first, end).map(({ id }) => id);
}

/** The line that is being typed, as it would fall. */
export function layTyped(state: UiState): {
  syllables: readonly TakeSyllable[];
  over: number;
  ids: string[];
} {
  const reach = wordsReach(state);
  const { first, last } = here(state);
  const laid = layLine(wordsMode(state).text, reach, state.verse);
  const ids = reach.slice(0, Math.max(last - first + 1, laid.notes));
  return { syllables: laid.syllables, over: laid.over, ids };
}

function keep(context: CommandContext): Step {
  const { state } = context;
  const { syllables, over, ids } = layTyped(state);
  const closed: UiState = { ...state, mode: { kind: 'notes' } };
  const step = act(
    { ...context, state: closed },
    { kind: 'words', verse: state.verse, ids, syllables },
    'the words are as they were',
  );
  return over === 0 ? step : { ...step, state: say(step.state, withoutNote(over)) };
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
  return { ...state, mode: { ...mode, text, caret: splitGraphemes(before).length } };
}

function rub(state: UiState, key: string): UiState {
  const mode = wordsMode(state);
  const characters = splitGraphemes(mode.text);
  const at = key === 'delete' ? mode.caret : mode.caret - 1;
  if (at < 0 || at >= characters.length) return state;
  characters.splice(at, 1);
  return { ...state, mode: { ...mode, text: characters.join(''), caret: at } };
}

function moveCaret(state: UiState, key: string): UiState {
  const mode = wordsMode(state);
  const last = splitGraphemes(mode.text).length;
  const to = { left: mode.caret - 1, right: mode.caret + 1, home: 0, end: last }[key] ?? mode.caret;
  return { ...state, mode: { ...mode, caret: Math.max(0, Math.min(last, to)) } };
}

/** Types a text at the caret, apart from the word before it. */
function typeAfter(state: UiState, line: string): UiState {
  const { text, caret } = wordsMode(state);
  const before = splitGraphemes(text)[caret - 1] ?? ' ';
  return type(state, before === ' ' ? line : ` ${line}`);
}

/** The lines of a pasted text by verse, which empty lines part. */
function versesOf(text: string): string[][] {
  return text
    .replace(/\r\n?/g, '\n')
    .split(/\n[^\S\n]*(?:\n[^\S\n]*)+/)
    .map((verse) => verse.split('\n').filter((line) => line.trim() !== ''))
    .filter((lines) => lines.length > 0);
}

/**
 * A pasted text. One line is typed; of several each goes under the next phrase, those after the last phrase with its
 * line, and after an empty line the next verse begins where the first did. All of it is one change.
 */
function paste(context: CommandContext, text: string): Step {
  const verses = versesOf(text);
  if (verses.flat().length < 2)
    return { state: typeAfter(context.state, verses[0]?.[0] ?? text), effects: [] };
  const first = phraseAt(context.state.ranges, context.state.at);
  const lastPhrase = context.state.ranges.length - 1;
  let laid = context.state;
  let over = 0;
  verses.forEach((lines, v) => {
    for (let i = 0; i < lines.length && first + i <= lastPhrase; i++) {
      const line = first + i === lastPhrase ? lines.slice(i).join(' ') : lines[i];
      const at = context.state.ranges[first + i].first;
      const begun = v === 0 && i === 0 ? laid : openWords({ ...laid, at, verse: context.state.verse + v });
      const typed = typeAfter(begun, line);
      over += layTyped(typed).over;
      laid = keep({ ...context, state: typed }).state;
    }
  });
  const { words } = laid.edited.take;
  const step = act(context, { kind: 'verses', words }, 'the words are as they were');
  const open = openWords({ ...step.state, at: laid.at, verse: laid.verse });
  const count = verses.length === 1 ? '' : `${verses.length} verses, `;
  const said = `${count}${verses.flat().length} lines pasted${over === 0 ? '' : `; ${withoutNote(over)}`}`;
  return { ...step, state: say(open, said) };
}

/** What a key does while words are typed; keys without a command are text. */
export function wordsKey(context: CommandContext, command: string | undefined): Step {
  const { state, key } = context;
  switch (command) {
    case 'words-done':
      return keep(context);
    case 'words-leave':
      return { state: { ...state, mode: { kind: 'notes' } }, effects: [] };
    case 'caret':
      return { state: moveCaret(state, key), effects: [] };
    case 'rub':
      return { state: rub(state, key), effects: [] };
    case 'words-phrase': {
      const step = keep(context);
      const to = phraseAt(state.ranges, state.at) + (key === 'up' ? -1 : 1);
      const range = step.state.ranges[to];
      return range === undefined ? step : { ...step, state: openWords(moveTo(step.state, range.first)) };
    }
    case 'words-verse':
      return goVerse(context);
    case 'split-words': {
      const mode = wordsMode(state);
      const now = SPLIT_LANGUAGES.indexOf(mode.language as (typeof SPLIT_LANGUAGES)[number]);
      const language = SPLIT_LANGUAGES[(now + 1) % SPLIT_LANGUAGES.length];
      const text = mode.text.replace(/(?<=\p{L})-(?=\p{L})/gu, '');
      return {
        state: { ...state, mode: { ...mode, language } },
        effects: [{ kind: 'split-words', text: now < 0 ? mode.text : text, language }],
      };
    }
    default:
      if (key.startsWith(PASTED)) return paste(context, key.slice(PASTED.length));
      return {
        state: key.length === 1 || splitGraphemes(key).length === 1 ? type(state, key) : state,
        effects: [],
      };
  }
}
