import { HOLES } from '../../harp/layouts.ts';
import { type TabNote, tabOf } from '../../tab/tab-note.ts';
import { type Step, say } from '../state/state.ts';
import { type CommandContext, noteAt, still } from './act.ts';
import { read } from './reading.ts';

/** The most holes that a mouth covers. */
const MOST_HOLES = 5;

const isNextTo = (holes: readonly number[]): boolean => holes.length === 2 && holes[1] - holes[0] === 1;

/** The holes of a note that sound, ascending. */
const holesOf = ({ hole, holes }: TabNote): readonly number[] => holes ?? [hole];

/** The same note with these holes; a shake stays one if it still can. */
function withHoles(note: TabNote, holes: readonly number[]): TabNote {
  const { holes: _, shake, ...single } = tabOf(note);
  const hole = holes.includes(note.hole) ? note.hole : holes[0];
  if (holes.length === 1) return { ...single, hole };
  return { ...single, hole, holes, ...(shake === true && isNextTo(holes) ? { shake } : {}) };
}

/** Asks which hole to add or drop. */
export function askAlong({ state }: CommandContext): Step {
  const note = noteAt(state);
  if (note.bend > 0 || note.over) return still(say(state, 'a bent or overblown note sounds alone'));
  return still(say({ ...state, mode: { kind: 'along' } }, 'add or drop which hole? w: shake'));
}

/** The key after that: adds or drops a hole, or makes a shake of two holes. */
export function alongKey(context: CommandContext, command: string | undefined): Step {
  if (command === 'along-hole') return toggleHole(context, context.key === '0' ? HOLES : Number(context.key));
  return command === 'along-shake' ? toggleShake(context) : still(context.state);
}

function toggleHole(context: CommandContext, hole: number): Step {
  const { state } = context;
  const note = noteAt(state);
  const now = holesOf(note);
  if (!now.includes(hole) && now.length === MOST_HOLES)
    return still(say(state, `no more than ${MOST_HOLES} holes sound at once`));
  const holes = now.includes(hole)
    ? now.filter((each) => each !== hole)
    : [...now, hole].sort((a, b) => a - b);
  if (holes.length === 0) return still(say(state, 'it is the only hole: x deletes the note'));
  return read(context, withHoles(note, holes));
}

function toggleShake(context: CommandContext): Step {
  const { state } = context;
  const note = noteAt(state);
  const leaking = note.leak === null ? [] : [note.leak.hole];
  const holes = note.holes ?? [note.hole, ...leaking].sort((a, b) => a - b);
  if (!isNextTo(holes)) {
    return still(say(state, 'a shake needs two adjacent holes: add the other with + first'));
  }
  const shake = note.shake !== true;
  return read(context, { ...tabOf(note), holes, shake: shake ? true : undefined });
}

/** The same holes in the other breath; undefined for a note of one hole. */
export function otherBreath(note: TabNote, breath: TabNote['breath']): TabNote | undefined {
  return note.holes === undefined ? undefined : { ...tabOf(note), breath };
}

/** A note of several holes moved to others; undefined if one of them is not on the harp. */
export function mapHoles(note: TabNote, to: (hole: number) => number | undefined): TabNote | undefined {
  const holes = holesOf(note).flatMap((hole) => to(hole) ?? []);
  const hole = to(note.hole);
  const isWhole = hole !== undefined && new Set(holes).size === holesOf(note).length;
  return isWhole
    ? {
        ...withHoles(
          note,
          [...holes].sort((a, b) => a - b),
        ),
        hole,
      }
    : undefined;
}
