import type { PlayableNote } from '../../harp/types.ts';
import { tabOf } from '../../tab/tab-note.ts';
import { formatTabNote } from '../../tab/text.ts';
import { nearest } from '../state/doubt.ts';
import { leftOutMarks } from '../state/left-out.ts';
import { type Mark, marksOf } from '../state/marks.ts';
import { bareFocus, markHere } from '../state/place.ts';
import { type Step, say, type UiState } from '../state/state.ts';
import { act, type CommandContext, moveTo, noteAt, still } from './act.ts';
import { nextReading } from './reading.ts';
import { split } from './time.ts';

/** Goes to a mark and says what to check there. */
function goTo(state: UiState, mark: Mark): UiState {
  const to = moveTo(state, mark.at);
  return { ...to, mark: mark.key, seen: new Set([...state.seen, mark.key]), message: null, offer: null };
}

/** The next or previous mark from the cursor, wrapping round. */
function nextMark(state: UiState, backwards: boolean): Mark | null {
  const marks = marksOf(state);
  const here = markHere(state);
  if (here !== null) {
    const to = marks.indexOf(here) + (backwards ? -1 : 1);
    return marks[(to + marks.length) % marks.length] ?? null;
  }
  const sec = state.edited.take.notes[state.at]?.onsetSec ?? 0;
  const next = backwards
    ? marks.findLast((mark) => mark.sec < sec)
    : marks.find((mark) => mark.sec >= sec || mark.at === state.at);
  return next ?? marks.at(backwards ? -1 : 0) ?? null;
}

export function goMark({ state, key }: CommandContext): Step {
  const mark = nextMark(state, key === 'shift-tab');
  if (mark === null) return still(say(state, nothingLeft(state)));
  return still(goTo(state, mark));
}

/** Goes to the next sound that was left out, wrapping round. */
export function goLeftOut({ state }: CommandContext): Step {
  const marks = leftOutMarks(state);
  const here = markHere(state);
  const sec = here?.kind === 'left-out' ? here.sec : (state.edited.take.notes[state.at]?.onsetSec ?? 0);
  const next = marks.find((mark) => mark.sec > sec) ?? marks[0];
  if (next === undefined)
    return still(say(state, 'nothing was left out: everything that was heard is a note'));
  return still(goTo(state, next));
}

function nothingLeft({ hearing, recording }: UiState): string {
  if (hearing?.sounds != null) return 'nothing left to check: the tab and the sound agree';
  return recording === 'ready' || recording === 'looking'
    ? 'no doubtful notes; still listening to the recording'
    : 'no doubtful notes; without the recording nothing else can be checked';
}

/** Accepts what is written here and goes to the next mark. */
export function pass(context: CommandContext): Step {
  const { state } = context;
  const mark = markHere(state);
  // It stays left out.
  if (mark?.kind === 'left-out') return goLeftOut(context);
  const bare = mark?.kind === 'bare' || mark?.kind === 'harp';
  const note = state.edited.take.notes[state.at];
  const step =
    bare || note === undefined ? still(state) : act(context, { kind: 'accept', ids: [note.id] }, '');
  const passed = mark === null ? state.passed : new Set([...state.passed, mark.key]);
  // The marks of a settled note are gone; the next is searched from its place on.
  const settled: UiState = { ...step.state, passed, mark: null, message: null };
  const next = mark === null ? nextMark(settled, false) : after(settled, mark.sec);
  const state2 = next === null ? say(settled, nothingLeft(settled)) : goTo(settled, next);
  return { ...step, state: state2 };
}

function after(state: UiState, sec: number): Mark | null {
  const marks = marksOf(state);
  return marks.find((mark) => mark.sec > sec) ?? marks[0] ?? null;
}

/** Corrects what the mark is about to what sounds; on a note without a mark, takes the next reading. */
export function cure(context: CommandContext): Step {
  const { state } = context;
  const mark = markHere(state);
  switch (mark?.kind) {
    case 'bare':
    case 'left-out':
      return putIn(context, mark, nearest(state.playable, mark.sound?.f0Hz ?? 0)[0]);
    case 'silent':
      return told(act(context, { kind: 'delete', ids: [noteAt(state).id] }, ''), 'deleted; u brings it back');
    case 'one':
      return told(act(context, { kind: 'merge', id: noteAt(state).id }, ''), 'joined with the next');
    case 'two':
      return splitAt(context, mark);
    case 'again':
      return twice(context);
    case 'onset':
      return act(
        context,
        { kind: 'move', id: noteAt(state).id, edge: 'onset', toSec: mark.sound?.onsetSec ?? mark.sec },
        'no room: the note before is in the way',
      );
    case 'harp':
      return harpOf(context);
    default:
      return nextReading(context);
  }
}

const told = (step: Step, text: string): Step =>
  step.effects.length === 0 ? step : { ...step, state: say(step.state, text) };

/** Switches to the best of the harps that were detected. */
function harpOf({ state }: CommandContext): Step {
  const [best] = state.hearing?.harps ?? [];
  const { temperament, a4Hz } = state.edited.take.harp;
  if (best === undefined) return still(state);
  const newHarp = { key: best.key, tuning: best.tuning, temperament, a4Hz };
  return {
    state: say({ ...state, newHarp, mark: null }, `reading all notes on the ${best.key} harp…`),
    effects: [{ kind: 'read-notes' }],
  };
}

/** Splits a note that was played twice; from then on it is known that both sound as one. */
function twice(context: CommandContext): Step {
  const { state, effects } = split(context);
  const passed = new Set([...state.passed, `one ${noteAt(context.state).id}`]);
  return { state: { ...state, passed }, effects };
}

function splitAt(context: CommandContext, { sound, sec }: Mark): Step {
  const { state } = context;
  const note = noteAt(state);
  const atSec = sound?.onsetSec ?? sec;
  const first = state.hearing?.sounds?.find(
    (each) => each.offsetSec <= atSec + 0.05 && each.offsetSec > note.onsetSec,
  );
  const f0Hz = [first?.f0Hz ?? note.f0Hz, sound?.f0Hz ?? note.f0Hz] as const;
  return told(
    act(context, { kind: 'split', id: note.id, atSec, f0Hz }, 'too short to split'),
    'two notes now',
  );
}

/** Adds a note where one sounds but none is written, on the hole that was typed or that fits the sound. */
function putIn(context: CommandContext, mark: Mark, as: PlayableNote | undefined): Step {
  const { sound, at } = mark;
  if (sound === null || as === undefined) return still(context.state);
  if (mark.kind === 'left-out') return bringBack(context, mark, as);
  const { notes } = context.state.edited.take;
  const onsetSec = Math.max(sound.onsetSec, notes[at]?.offsetSec ?? 0);
  const offsetSec = Math.min(sound.offsetSec, notes[at + 1]?.onsetSec ?? Number.POSITIVE_INFINITY);
  const { f0Hz } = sound;
  const step = act(
    context,
    { kind: 'insert', onsetSec, offsetSec, as: tabOf(as), f0Hz },
    'no room for a note',
  );
  if (step.effects.length === 0) return step;
  return { ...step, state: say(moveTo(step.state, at + 1), `${formatTabNote(as)} added as heard`) };
}

/** Makes a note of a sound that was left out; deleting it leaves it out again. */
function bringBack(context: CommandContext, { sec, at }: Mark, as: PlayableNote): Step {
  const action = { kind: 'bring-back', onsetSec: sec, as: tabOf(as) } as const;
  const step = act(context, action, 'no room: there is a note already');
  if (step.effects.length === 0) return step;
  const here = moveTo(step.state, at + 1);
  return { ...step, state: say(here, `${formatTabNote(as)} is a note now; x leaves it out again`) };
}

/** Commands that change the note at the cursor, which a sound without a note does not have. */
const NEEDS_NOTE: ReadonlySet<string> = new Set([
  'bend',
  'over',
  'breath',
  'onset',
  'offset',
  'split',
  'merge',
  'delete',
  'alike',
  'along',
  'ornament',
]);

/** What a key does while the cursor is on a sound without a note; null if the same as elsewhere. */
export function onBareSound(context: CommandContext, command: string): Step | null {
  const { state, key } = context;
  const mark = bareFocus(state);
  if (mark === null || mark.sound === null) return null;
  if (command === 'delete') return pass(context);
  if (command === 'insert') return cure(context);
  if (command === 'hole') {
    const hole = key === '0' ? 10 : Number(key);
    const fits = state.playable.filter((each) => each.hole === hole);
    return putIn(context, mark, nearest(fits, mark.sound.f0Hz)[0]);
  }
  if (NEEDS_NOTE.has(command)) {
    return still(say(state, 'no note here: Space adds what sounds, a digit adds that hole'));
  }
  return null;
}
