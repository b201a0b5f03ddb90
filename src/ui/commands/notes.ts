import { isSettled } from '../../holes/redecode.ts';
import { isDoubtful } from '../../tab/remarks.ts';
import { nextDoubt } from '../state/doubt.ts';
import { phraseAt } from '../state/phrases.ts';
import { type Step, say, type UiState } from '../state/state.ts';
import { act, type CommandContext, moveTo, noteAt, still, takeStep } from './act.ts';
import { bend, nextReading, over, readNearest } from './reading.ts';
import { carry, takeOffer } from './spread.ts';
import { insert, nudge, remove, split } from './time.ts';

function goPhrase(state: UiState, by: number): UiState {
  const now = phraseAt(state.ranges, state.at);
  const to = Math.max(0, Math.min(state.ranges.length - 1, now + by));
  // Up goes to the beginning of this phrase first, as readers expect of a line.
  if (by < 0 && state.at !== state.ranges[now]?.first) return moveTo(state, state.ranges[now].first);
  return state.ranges[to] === undefined || to === now ? state : moveTo(state, state.ranges[to].first);
}

function goDoubt(state: UiState, backwards: boolean): UiState {
  const to = nextDoubt(state.edited.take.notes, state.at, backwards);
  if (to === null) return say(state, 'no doubts are left');
  return to === state.at
    ? say(state, 'this is the only doubt left')
    : { ...moveTo(state, to), message: null };
}

function accept(context: CommandContext): Step {
  const note = noteAt(context.state);
  const step = isSettled(note) ? still(context.state) : act(context, { kind: 'accept', ids: [note.id] }, '');
  const to = nextDoubt(step.state.edited.take.notes, step.state.at);
  if (to === null)
    return {
      ...step,
      state: say(step.state, isDoubtful(note) ? 'that was the last doubt' : 'no doubts are left'),
    };
  return { ...step, state: moveTo(step.state, to) };
}

/** Commands on the current note, by the id of their row in the table of keys. */
export const NOTE_COMMANDS: Readonly<Record<string, (context: CommandContext) => Step>> = {
  note: ({ state, key }) => still(moveTo(state, state.at + (key === 'left' ? -1 : 1))),
  phrase: ({ state, key }) => still(goPhrase(state, key === 'up' || key === 'pageup' ? -1 : 1)),
  doubt: ({ state, key }) => still(goDoubt(state, key === 'shift-tab')),
  ends: ({ state, key }) => still(moveTo(state, key === 'home' ? 0 : Number.MAX_SAFE_INTEGER)),
  accept,
  other: nextReading,
  hole: (context) => {
    const hole = context.key === '0' ? 10 : Number(context.key);
    return readNearest(context, (note) => note.hole === hole, `no hole ${hole}`);
  },
  breath: (context) => {
    const note = noteAt(context.state);
    const breath = context.key === 'b' || context.key === '+' ? 'blow' : 'draw';
    return readNearest(
      context,
      (each) => each.hole === note.hole && each.breath === breath && !each.over,
      '',
    );
  },
  bend,
  over,
  alike: takeOffer,
  carry,
  onset: (context) => nudge(context, 'onset', context.key === ',' ? -1 : 1),
  offset: (context) => nudge(context, 'offset', context.key === ';' || context.key === '<' ? -1 : 1),
  split,
  merge: (context) => act(context, { kind: 'merge', id: noteAt(context.state).id }, 'there is no next note'),
  insert,
  delete: remove,
  undo: (context) => takeStep(context, 'undo'),
  redo: (context) => takeStep(context, 'redo'),
};
