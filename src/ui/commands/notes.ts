import { phraseAt } from '../state/phrases.ts';
import type { Step, UiState } from '../state/state.ts';
import { act, type CommandContext, moveTo, noteAt, still, takeStep } from './act.ts';
import { askAlong, otherBreath } from './along.ts';
import { cure, goLeftOut, goMark, pass } from './marks.ts';
import { askOrnament } from './ornament.ts';
import { ask } from './prompt.ts';
import {
  extend,
  mark,
  moveHole,
  moveOctave,
  removeRange,
  shiftRange,
  togglePhrase,
  toOtherPhrase,
} from './range.ts';
import { askBend, bend, bendLess, over, read, readNearest } from './reading.ts';
import { carry, takeOffer } from './spread.ts';
import { insert, nudge, remove, split } from './time.ts';

function goPhrase(state: UiState, by: number): UiState {
  const now = phraseAt(state.ranges, state.at);
  const to = Math.max(0, Math.min(state.ranges.length - 1, now + by));
  // Up first goes to the beginning of this phrase.
  if (by < 0 && state.at !== state.ranges[now]?.first) return moveTo(state, state.ranges[now].first);
  return state.ranges[to] === undefined || to === now ? state : moveTo(state, state.ranges[to].first);
}

/** Commands on the current note, by the id of their row in the table of keys. */
export const NOTE_COMMANDS: Readonly<Record<string, (context: CommandContext) => Step>> = {
  note: ({ state, key }) => still(moveTo(state, state.at + (key === 'left' ? -1 : 1))),
  phrase: ({ state, key }) =>
    still(goPhrase(state, key === 'up' || key === 'pageup' || key === 'wheel-up' ? -1 : 1)),
  'mark-next': goMark,
  'left-out': goLeftOut,
  ends: ({ state, key }) => still(moveTo(state, key === 'home' ? 0 : Number.MAX_SAFE_INTEGER)),
  pass,
  cure,
  hole: (context) => {
    const hole = context.key === '0' ? 10 : Number(context.key);
    return readNearest(context, (note) => note.hole === hole, `no hole ${hole}`);
  },
  breath: (context) => {
    const note = noteAt(context.state);
    const breath = context.key === 'b' ? 'blow' : 'draw';
    const chord = otherBreath(note, breath);
    if (chord !== undefined) return read(context, chord);
    return readNearest(
      context,
      (each) => each.hole === note.hole && each.breath === breath && !each.over,
      '',
    );
  },
  bend,
  shallower: bendLess,
  'bend-by': askBend,
  over,
  along: askAlong,
  ornament: askOrnament,
  alike: takeOffer,
  carry,
  extend,
  mark,
  'hole-by': moveHole,
  octave: moveOctave,
  'phrase-break': togglePhrase,
  'other-phrase': toOtherPhrase,
  title: ({ state }) => ask(state, 'title'),
  advice: ({ state }) => ask(state, 'advice'),
  section: ({ state }) => ask(state, 'section'),
  bars: ({ state }) => ask(state, 'bars'),
  find: ({ state }) => ask(state, 'find'),
  onset: (context) =>
    context.state.anchor !== null
      ? shiftRange(context)
      : nudge(context, 'onset', context.key === ',' ? -1 : 1),
  offset: (context) => nudge(context, 'offset', context.key === ';' ? -1 : 1),
  split,
  merge: (context) => act(context, { kind: 'merge', id: noteAt(context.state).id }, 'there is no next note'),
  insert,
  delete: (context) => (context.state.anchor === null ? remove(context) : removeRange(context)),
  undo: (context) => takeStep(context, 'undo'),
  redo: (context) => takeStep(context, 'redo'),
};
