import { HOLES } from '../../harp/layouts.ts';
import { bendOn, onHoles, type TabNote, tabOf } from '../../tab/tab-note.ts';
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
  const shake = note.shake === true && isNextTo(holes) ? true : undefined;
  return { ...onHoles(note, holes, (hole) => bendOn(note, hole)), shake };
}

/** Asks which hole to add or drop. */
export function askAlong({ state }: CommandContext): Step {
  const note = noteAt(state);
  if (note.over) return still(say(state, 'an overblow or overdraw sounds alone'));
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
  if (shake && holes.some((hole) => bendOn(note, hole) > 0))
    return still(say(state, "a shake can't be bent: take the bend away first"));
  return read(context, { ...tabOf(note), holes, shake: shake ? true : undefined });
}

/** The same holes in the other breath, unbent; undefined for a note of one hole. */
export function otherBreath(note: TabNote, breath: TabNote['breath']): TabNote | undefined {
  return note.holes === undefined ? undefined : { ...onHoles(note, note.holes, unbent), breath };
}

const unbent = (): number => 0;

/** A note of several holes moved to others, unbent; undefined if one of them is not on the harp. */
export function mapHoles(note: TabNote, to: (hole: number) => number | undefined): TabNote | undefined {
  const holes = holesOf(note).flatMap((each) => to(each) ?? []);
  const hole = to(note.hole);
  if (hole === undefined || new Set(holes).size < holesOf(note).length) return undefined;
  const ascending = [...holes].sort((a, b) => a - b);
  return withHoles(onHoles({ ...note, hole }, ascending, unbent), ascending);
}
