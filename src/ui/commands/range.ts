import { HOLES } from '../../harp/layouts.ts';
import { findPlayable } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { Note } from '../../tab/note.ts';
import { type TabNote, tabOf } from '../../tab/tab-note.ts';
import { counted } from '../../text/counted.ts';
import { phraseAt } from '../state/phrases.ts';
import { selected } from '../state/place.ts';
import { type Step, say, type UiState } from '../state/state.ts';
import { act, type CommandContext, moveTo, still } from './act.ts';
import { mapHoles } from './along.ts';

const NUDGE_SEC = 0.01;

/** Moves by a note and extends the range to it. */
export function extend({ state, key }: CommandContext): Step {
  const anchor = state.anchor ?? state.at;
  return still({ ...moveTo(state, state.at + (key === 'shift-left' ? -1 : 1)), anchor });
}

/** Begins a range here, or ends it. */
export function mark({ state }: CommandContext): Step {
  if (state.anchor !== null) return still({ ...state, anchor: null });
  return still(say({ ...state, anchor: state.at }, 'a range begins here: go to its end; Esc ends it'));
}

/** The notes of the range, or the current one. */
export const rangeOf = (state: UiState): readonly Note[] => {
  const [first, last] = selected(state);
  return state.edited.take.notes.slice(first, last + 1);
};

/** Applies an action to all notes of the range, and keeps the range. */
export function onRange(
  context: CommandContext,
  action: Parameters<typeof act>[1],
  nothing: string,
  joins = false,
): Step {
  const { anchor } = context.state;
  const step = act(context, action, nothing, { joins });
  return { ...step, state: { ...step.state, anchor } };
}

export function removeRange(context: CommandContext): Step {
  const { state } = context;
  const ids = rangeOf(state).map(({ id }) => id);
  const step = act(context, { kind: 'delete', ids }, '');
  if (step.effects.length === 0) return step;
  const [first] = selected(state);
  const here = { ...moveTo({ ...step.state, at: first }, first), anchor: null };
  return { ...step, state: say(here, `${counted(ids.length, 'note')} deleted; u undoes that`) };
}

/** Moves the range in time; repeated moves are one step. */
export function shiftRange(context: CommandContext): Step {
  const { state, key } = context;
  const ids = rangeOf(state).map(({ id }) => id);
  const what = `shift ${ids.join(' ')}`;
  const joins = state.nudging?.what === what && state.nudging.seq === state.edited.take.edits.length;
  const bySec = key === ',' ? -NUDGE_SEC : NUDGE_SEC;
  const step = onRange(
    context,
    { kind: 'shift', ids, bySec },
    'no further: the next note is in the way',
    joins,
  );
  return { ...step, state: { ...step.state, nudging: { what, seq: step.state.edited.take.edits.length } } };
}

/** Moves the range, or the current note, a hole lower or higher. */
export function moveHole(context: CommandContext): Step {
  const by = context.key === '<' ? -1 : 1;
  return rereadAll(context, (note, playable) => {
    if (note.holes !== undefined)
      return mapHoles(note, (hole) => (hole + by >= 1 && hole + by <= HOLES ? hole + by : undefined));
    const there = { ...tabOf(note), hole: note.hole + by };
    return findPlayable(playable, there) ?? findPlayable(playable, { ...there, bend: 0, over: false });
  });
}

/** The same by an octave, to the easiest note of that pitch. */
export function moveOctave(context: CommandContext): Step {
  const by = context.key === '(' ? -12 : 12;
  return rereadAll(context, (note, playable) => {
    const reed = (of: number) => findPlayable(playable, { ...note, hole: of, bend: 0, over: false });
    if (note.holes !== undefined) {
      return mapHoles(note, (hole) => {
        const high = (reed(hole)?.midi ?? Number.NaN) + by;
        return playable.find(
          (each) => each.midi === high && each.breath === note.breath && each.bend === 0 && !each.over,
        )?.hole;
      });
    }
    const midi = (findPlayable(playable, note)?.midi ?? Number.NaN) + by;
    const effort = (each: PlayableNote) =>
      (each.over ? 10 : each.bend) + (each.breath === note.breath ? 0 : 0.5);
    return playable.filter((each) => each.midi === midi).sort((a, b) => effort(a) - effort(b))[0];
  });
}

function rereadAll(
  context: CommandContext,
  wanted: (note: TabNote, playable: readonly PlayableNote[]) => TabNote | undefined,
): Step {
  const { state } = context;
  const readings: [string, TabNote][] = [];
  for (const note of rangeOf(state)) {
    const as = wanted(note, state.playable);
    // All or none: nobody wants half a range moved.
    if (as === undefined) return still(say(state, 'the harp does not have all of those notes'));
    readings.push([note.id, tabOf(as)]);
  }
  return onRange(context, { kind: 'offer', readings }, 'it is there already');
}

/** Starts a phrase at this note, or, if one starts here, joins it to the one before. */
export function togglePhrase(context: CommandContext): Step {
  const { state } = context;
  const before = state.ranges.length;
  const step = act(context, { kind: 'phrase-break', at: state.at }, 'the first phrase begins here');
  if (step.effects.length === 0) return step;
  const { ranges } = step.state;
  const number = phraseAt(ranges, state.at) + 1;
  const text =
    ranges.length > before ? `phrase ${number} begins here` : `joined: this is phrase ${number} now`;
  return { ...step, state: say(step.state, `${text}; u undoes that`) };
}

/** Moves the range, or this note, to the neighbouring phrase, or makes it a phrase of its own. */
export function toOtherPhrase(context: CommandContext): Step {
  const { state } = context;
  const [first, last] = selected(state);
  const now = phraseAt(state.ranges, first);
  if (phraseAt(state.ranges, last) !== now) return still(say(state, 'these notes belong to several phrases'));
  const count = state.ranges.length;
  const step = act(context, { kind: 'other-phrase', first, last }, 'there is no other phrase');
  if (step.effects.length === 0) return step;
  const { ranges } = step.state;
  const what = first === last ? 'this note is' : `these ${last - first + 1} notes are`;
  const own = ranges.length > count ? `, a phrase of ${first === last ? 'its' : 'their'} own` : '';
  return {
    ...step,
    state: say(step.state, `${what} now in phrase ${phraseAt(ranges, first) + 1}${own}; u undoes that`),
  };
}
