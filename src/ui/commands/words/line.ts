import { changeTake } from '../../../take/edits/change.ts';
import { alignLine, lineOfSyllables, lineUnder, wordsUnder } from '../../../take/words.ts';
import { splitGraphemes } from '../../../text/graphemes.ts';
import { phraseAt } from '../../state/phrases.ts';
import { type Step, say, type UiState } from '../../state/state.ts';
import { alignTyped, lostSyllables, phraseHere, verseCount, wordsMode } from '../../state/typed-words.ts';
import { act, type CommandContext, moveTo, still } from '../act.ts';

/** Opens the line of words of the current phrase. */
export function openWords(state: UiState): UiState {
  const { first, last } = phraseHere(state);
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
      gotBack: [],
      kept: text,
      isBegun: false,
    },
  };
}

/** Keeps the line and goes to another existing verse of the phrase. */
export function goVerse(context: CommandContext): Step {
  const step = draft(context);
  const verse = step.state.verse + (context.key === 'pageup' ? -1 : 1);
  if (verse < 1) return { ...step, state: say(step.state, 'this is the first verse') };
  if (verse > verseCount(step.state)) {
    return { ...step, state: say(step.state, `there is no verse ${verse} yet: Ctrl-N begins one`) };
  }
  return { ...step, state: openWords({ ...step.state, verse }) };
}

/** Keeps the line and begins one more verse. */
export function newVerse(context: CommandContext): Step {
  const step = draft(context);
  const verse = verseCount(step.state) + 1;
  return { ...step, state: say(openWords({ ...step.state, verse }), `verse ${verse}`) };
}

/** Keeps the line as it is typed so far, and leaves it open. */
export function draft(context: CommandContext): Step {
  const { state } = context;
  const mode = wordsMode(state);
  if (mode.text === mode.kept) return still(state);
  const { syllables, ids } = alignTyped(state);
  // From the earlier words, since syllables without a note would otherwise be added again each time.
  const from = { ...state.edited.take, words: mode.before.filter((each) => !mode.gotBack.includes(each)) };
  const { words } = changeTake(from, { kind: 'words', verse: state.verse, ids, syllables });
  const step = act(context, { kind: 'verses', words }, '', { joins: mode.isBegun });
  const isBegun = mode.isBegun || step.effects.length > 0;
  return {
    ...step,
    state: { ...step.state, message: state.message, mode: { ...mode, kept: mode.text, isBegun } },
  };
}

/** Keeps the line and closes it. */
export function keep(context: CommandContext): Step {
  const { over } = alignTyped(context.state);
  const step = draft(context);
  const closed: UiState = { ...step.state, mode: { kind: 'notes' }, message: null };
  return { ...step, state: over === 0 ? closed : say(closed, withoutNote(over)) };
}

/** Leaves the words as they were when the line was opened. */
export function leave(context: CommandContext): Step {
  const { state } = context;
  const { before, isBegun } = wordsMode(state);
  const step = isBegun ? act(context, { kind: 'verses', words: before }, '', { joins: true }) : still(state);
  return { ...step, state: { ...step.state, mode: { kind: 'notes' }, message: null } };
}

/** Inserts syllables that have lost their note, for example because it was deleted, at the caret. */
export function getBack(state: UiState): UiState {
  const lost = lostSyllables(state);
  const typed = typeApart(state, lineOfSyllables(lost));
  return { ...typed, mode: { ...wordsMode(typed), gotBack: [...wordsMode(state).gotBack, ...lost] } };
}

/** Signs and syllables of a line, and the blanks between them. */
const PIECES = /\s+|_|\*|[^-_*\s]+-*|-+/gu;

/** Keeps what has a note here, and moves the rest to the beginning of the next phrase. */
export function carryRest(context: CommandContext): Step {
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
export function goPhrase(context: CommandContext): Step {
  const step = draft(context);
  const back = context.key === 'up';
  const range = step.state.ranges[phraseAt(step.state.ranges, step.state.at) + (back ? -1 : 1)];
  if (range === undefined) {
    return { ...step, state: say(step.state, `this is the ${back ? 'first' : 'last'} phrase`) };
  }
  return { ...step, state: openWords(moveTo(step.state, range.first)) };
}

/** The message about syllables that were kept without a note. */
export function withoutNote(over: number): string {
  return over === 1
    ? '1 syllable has no note; it is printed after the tab'
    : `${over} syllables have no note; they are printed after the tab`;
}

export function type(state: UiState, typed: string): UiState {
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

export function rub(state: UiState, key: string): UiState {
  const mode = wordsMode(state);
  const characters = splitGraphemes(mode.text);
  const at = key === 'delete' ? mode.caret : mode.caret - 1;
  if (at < 0 || at >= characters.length) return state;
  characters.splice(at, 1);
  return { ...state, mode: { ...mode, text: characters.join(''), caret: at, split: null, pasted: null } };
}

export function moveCaret(state: UiState, key: string): UiState {
  const mode = wordsMode(state);
  const last = splitGraphemes(mode.text).length;
  const to = { left: mode.caret - 1, right: mode.caret + 1, home: 0, end: last }[key] ?? mode.caret;
  return { ...state, mode: { ...mode, caret: Math.max(0, Math.min(last, to)) } };
}

/** Types a text at the caret, separated from the words around it. */
export function typeApart(state: UiState, line: string): UiState {
  const { text, caret } = wordsMode(state);
  const [before = ' ', after = ' '] = [caret - 1, caret].map((at) => splitGraphemes(text)[at]);
  return type(state, `${before === ' ' ? '' : ' '}${line}${after === ' ' || line.endsWith('-') ? '' : ' '}`);
}
