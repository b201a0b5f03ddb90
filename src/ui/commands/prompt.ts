import { readForm } from '../../music/form.ts';
import { plainText } from '../../plain-text.ts';
import type { Note } from '../../tab/note.ts';
import { sameTab } from '../../tab/tab-note.ts';
import { parseTabToken } from '../../tab/text.ts';
import type { EditAction } from '../../take/edits/action.ts';
import { wordsUnder } from '../../take/words.ts';
import { counted } from '../../text/counted.ts';
import { splitGraphemes } from '../../text/graphemes.ts';
import { PASTED } from '../input.ts';
import { OTHER_PROMPT } from '../keys.ts';
import { barsInWords } from '../state/bars.ts';
import { FINDABLE } from '../state/findable.ts';
import { type PromptMode, type Step, say, type UiState } from '../state/state.ts';
import { act, type CommandContext, moveTo, still } from './act.ts';

/** Asks for a line of text. */
export function ask(state: UiState, what: PromptMode['what']): Step {
  const text = textNow(state, what);
  return still({ ...state, message: null, offer: null, mode: { kind: 'prompt', what, text } });
}

/** The existing text, to be continued. */
function textNow(state: UiState, what: PromptMode['what']): string {
  switch (what) {
    case 'section':
      return phraseOf(state)?.name ?? '';
    case 'title':
      return state.edited.take.title ?? '';
    case 'form':
      return formOf(state).join(' ');
    case 'advice':
      return phraseOf(state)?.advice ?? '';
    case 'advice-all':
      return state.edited.take.advice ?? '';
    default:
      return '';
  }
}

/** Longer lines are not accepted. */
const LONGEST = 500;

const phraseOf = ({ edited, at }: UiState) =>
  edited.take.phrases.find(({ firstNote, lastNote }) => firstNote <= at && at <= lastNote);

/** What a key does while a line is typed. */
export function promptKey(context: CommandContext, command: string | undefined): Step {
  const { state, key } = context;
  const mode = state.mode as PromptMode;
  const typed = (text: string): Step =>
    text.length > LONGEST ? still(state) : still({ ...state, mode: { ...mode, text } });
  const closed: UiState = { ...state, mode: { kind: 'notes' } };
  switch (command) {
    case 'prompt-leave':
      return still(closed);
    case 'prompt-rub':
      return typed(splitGraphemes(mode.text).slice(0, -1).join(''));
    case 'prompt-other':
      return ask(state, OTHER_PROMPT[mode.what] ?? mode.what);
    case 'prompt-done':
      return DO[mode.what]({ ...context, state: closed }, mode.text.trim());
    default:
      if (key.startsWith(PASTED)) return typed(mode.text + oneLine(key.slice(PASTED.length)));
      return splitGraphemes(key).length === 1 && key >= ' ' ? typed(mode.text + key) : still(state);
  }
}

const DO: Readonly<Record<PromptMode['what'], (context: CommandContext, text: string) => Step>> = {
  find,
  section: nameSection,
  form: sayForm,
  bars: sayBars,
  title: (context, text) => sayText(context, { kind: 'title', title: plainText(text) }, 'the title'),
  advice: (context, text) => {
    const phrase = context.state.edited.take.phrases.indexOf(phraseOf(context.state) as never);
    return sayText(
      context,
      { kind: 'advice', phrase, text: plainText(text) },
      "the teacher's note on this phrase",
    );
  },
  'advice-all': (context, text) =>
    sayText(
      context,
      { kind: 'advice', phrase: null, text: plainText(text) },
      "the teacher's note on the whole take",
    ),
};

/** Sets a text of the take, and reports it. */
function sayText(context: CommandContext, action: EditAction, what: string): Step {
  const step = act(context, action, `${what} is unchanged`);
  if (step.effects.length === 0) return step;
  const text = action.kind === 'title' ? action.title : action.kind === 'advice' ? action.text : '';
  return { ...step, state: say(step.state, text === '' ? `${what} is removed` : `${what}: ${text}`) };
}

/** A pasted text in one line. */
const oneLine = (text: string): string => plainText(text.replace(/[\s\p{Cc}]+/gu, ' ').trim());

function nameSection(context: CommandContext, name: string): Step {
  const { state } = context;
  const phrase = state.edited.take.phrases.indexOf(phraseOf(state) as never);
  const step = act(context, { kind: 'section', phrase, name }, 'the name is unchanged');
  if (step.effects.length === 0) return step;
  return {
    ...step,
    state: say(step.state, name === '' ? 'the name is removed' : `this section is called '${name}'`),
  };
}

const formOf = ({ edited }: UiState): string[] => edited.take.phrases.flatMap(({ name }) => name ?? []);

function sayForm(context: CommandContext, text: string): Step {
  const { state } = context;
  const names = text === '' ? [] : readForm(text);
  if (names === null) {
    return still(
      say(state, `'${text}' is not a form: a letter for each section, or names with spaces`, 'alert'),
    );
  }
  const lines = state.edited.take.phrases.length;
  if (names.length > lines) {
    const there = counted(lines, 'phrase');
    return still(say(state, `${names.length} sections but only ${there}: k splits phrases`, 'alert'));
  }
  const step = act(context, { kind: 'form', names }, 'the sections are unchanged');
  if (step.effects.length === 0) return step;
  const said = names.length === 0 ? 'sections removed' : `sections: ${formOf(step.state).join(' ')}`;
  return { ...step, state: say(step.state, said) };
}

/** A time as players write it, in seconds: `1:23`, `0:07.5`; undefined for anything else. */
function parseTime(text: string): number | undefined {
  const match = /^(\d+):(\d{1,2}(?:\.\d+)?)$/.exec(text);
  return match === null ? undefined : 60 * Number(match[1]) + Number(match[2]);
}

/** Goes to a time, or to the next note with a hole, kind, section or word; an empty text repeats the last search. */
function find({ state }: CommandContext, typed: string): Step {
  const text = typed === '' ? state.lastFind : typed;
  if (text === '') return still(state);
  const known: UiState = { ...state, lastFind: text };
  const { notes, phrases } = state.edited.take;
  const sec = parseTime(text);
  if (sec !== undefined) {
    const at = notes.findIndex(({ offsetSec }) => offsetSec > sec);
    return still(at < 0 ? say(known, `no note sounds after ${text}`) : moveTo(known, at));
  }
  const hole = parseTabToken(text);
  const under = wordsUnder(state.edited.take, state.verse);
  const small = text.toLowerCase();
  const isSection = (at: number) =>
    phrases.some(({ firstNote, name }) => firstNote === at && name?.toLowerCase().startsWith(small));
  const fits = (note: Note, at: number): boolean =>
    hole !== undefined
      ? sameTab(note, hole)
      : FINDABLE[small] !== undefined
        ? FINDABLE[small](state, note, at)
        : isSection(at) || (under.get(note.id) ?? '').toLowerCase().includes(small);
  for (let step = 1; step <= notes.length; step++) {
    const at = (state.at + step) % notes.length;
    if (fits(notes[at], at)) return still(say(moveTo(known, at), `${text}: / and Enter for the next`));
  }
  return still(say(known, `nothing here matches '${text}'`));
}

/** Metre, tempo, free time, and `here` for the first beat of a bar on this note. */
function sayBars(context: CommandContext, text: string): Step {
  const { state } = context;
  const words = text.split(/\s+/).filter((word) => word !== '');
  const beats: { tempoBpm?: number; metre?: { count: number; unit: number }; free?: boolean } = {};
  let here = false;
  for (const word of words) {
    const metre = /^(\d{1,2})\/(1|2|4|8|16)$/.exec(word);
    const bpm = Number(word);
    if (metre !== null) beats.metre = { count: Number(metre[1]), unit: Number(metre[2]) };
    else if (word === 'here') here = true;
    else if (word === 'free') beats.free = true;
    else if (bpm >= 20 && bpm <= 400) beats.tempoBpm = bpm;
    else
      return still(
        say(state, `'${word}' is not a metre (3/4), tempo (20 to 400), 'here' or 'free'`, 'alert'),
      );
  }
  let step: Step = still(state);
  if (Object.keys(beats).length > 0)
    step = act(context, { kind: 'say-beats', beats }, 'the beats are unchanged');
  if (here) {
    const id = state.edited.take.notes[state.at]?.id ?? '';
    const also = act(
      { ...context, state: step.state },
      { kind: 'downbeat', id },
      'a bar already begins here',
      {
        joins: step.effects.length > 0,
      },
    );
    step = { state: also.state, effects: [...step.effects, ...also.effects] };
  }
  return step.effects.length === 0 ? step : { ...step, state: say(step.state, barsInWords(step.state)) };
}
