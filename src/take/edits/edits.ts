import type { CustomHarp } from '../../harp/types.ts';
import type { Take } from '../schema.ts';
import type { EditAction } from './action.ts';
import { changeTake } from './change.ts';
import { checkEdited, isEdit } from './check-edit.ts';
import type { Edit, EditChange, EditHead, EditStep } from './edit.ts';
import { applyPatch, diffTakes, type TakePatch } from './patch.ts';

/** A take with what can be undone and redone: positions of edits, the latest last. */
export interface EditedTake {
  readonly take: Take;
  readonly done: readonly number[];
  readonly undone: readonly number[];
}

/** Who did something, and when; the clock is the caller's. */
export interface EditStamp {
  readonly at: string;
  readonly by?: Edit['by'];
  readonly joins?: boolean;
}

const isStep = (edit: Edit): edit is EditStep => edit.what === 'undo' || edit.what === 'redo';

/** The edits of a take, as its schema holds them loosely. */
export function editsOf(take: Take): readonly Edit[] {
  return take.edits as unknown as readonly Edit[];
}

/**
 * Works out from the edits of a take what can be undone and redone. Undo stops at edits of unknown form, which stay.
 */
export function openEdits(take: Take): EditedTake {
  let done: number[] = [];
  let undone: number[] = [];
  for (const [index, edit] of editsOf(take).entries()) {
    if (edit?.seq !== index + 1) return { take, done: [], undone: [] };
    if (!isEdit(edit)) {
      done = [];
      undone = [];
    } else if (isStep(edit)) {
      if (edit.what === 'undo') undone.push(...done.splice(-1));
      else done.push(...undone.splice(-1));
    } else {
      done.push(edit.seq);
      undone = [];
    }
  }
  return { take, done, undone };
}

/**
 * The take after one more edit.
 * @throws RangeError when the edit doesn't fit the take, or would make it one that its schema doesn't allow
 */
export function applyEdit(state: EditedTake, edit: Edit): EditedTake {
  const { take, done, undone } = state;
  if (edit.seq !== take.edits.length + 1) throw new RangeError(`edit ${edit.seq} after ${take.edits.length}`);
  if (!isStep(edit)) return afterChange(state, patched(take, edit.patch, 'after'), edit);
  const undo = edit.what === 'undo';
  const last = (undo ? done : undone).at(-1);
  if (last !== edit.of) throw new RangeError(`nothing to ${edit.what}: ${edit.of}`);
  const of = editsOf(take)[edit.of - 1] as EditChange;
  return {
    take: withLine(patched(take, of.patch, undo ? 'before' : 'after'), edit),
    done: undo ? done.slice(0, -1) : [...done, edit.of],
    undone: undo ? [...undone, edit.of] : undone.slice(0, -1),
  };
}

/** The take after more edits, such as those of a journal. @throws RangeError when they don't fit */
export function replay(state: EditedTake, edits: readonly Edit[]): EditedTake {
  return edits.reduce(applyEdit, state);
}

/** Patches that this program made: their results need no check. */
const made = new WeakSet<TakePatch>();

function patched(take: Take, patch: TakePatch, to: 'before' | 'after'): Take {
  const next = applyPatch(take, patch, to);
  if (!made.has(patch)) checkEdited(take, next);
  return next;
}

function afterChange({ done }: EditedTake, changed: Take, edit: Edit): EditedTake {
  return { take: withLine(changed, edit), done: [...done, edit.seq], undone: [] };
}

function withLine(take: Take, edit: Edit): Take {
  return { ...take, edits: [...take.edits, edit as unknown as Take['edits'][number]] };
}

/**
 * Changes a take.
 * @returns the take after the change and the line that was added to its edits; null when the action changes nothing
 */
export function edit(
  state: EditedTake,
  action: EditAction,
  stamp: EditStamp,
  custom: CustomHarp = {},
): { state: EditedTake; edit: Edit } | null {
  const read = action.kind === 'harp' ? action.read : undefined;
  const changed =
    read === undefined ? changeTake(state.take, action, custom) : applyPatch(state.take, read, 'after');
  const patch = read ?? (changed === state.take ? null : diffTakes(state.take, changed));
  if (patch === null) return null;
  made.add(patch);
  const line: Edit = { ...head(state, stamp), what: action.kind, patch };
  // The patch need not be applied: a new harp changes all notes, and they are already here.
  return { state: afterChange(state, changed, line), edit: line };
}

/** Undoes the last change; null when there is none that fits the take. Unlimited, even on another day. */
export function undo(state: EditedTake, stamp: EditStamp): { state: EditedTake; edit: Edit } | null {
  const of = state.done.at(-1);
  return of === undefined ? null : stepped(state, { ...head(state, stamp), what: 'undo', of });
}

/** Redoes the last undone change; null when there is none that fits, or something else was changed since. */
export function redo(state: EditedTake, stamp: EditStamp): { state: EditedTake; edit: Edit } | null {
  const of = state.undone.at(-1);
  return of === undefined ? null : stepped(state, { ...head(state, stamp), what: 'redo', of });
}

/** Whether the next edit to undo or redo belongs to the same step as the last one. */
export function stepGoesOn({ take, done, undone }: EditedTake, which: 'undo' | 'redo'): boolean {
  const edits = editsOf(take);
  // Undo runs from last to first, so the edit just undone is reported; redo from first to last, so the next one is.
  const of = undone.at(-1);
  if (of === undefined || edits[of - 1].joins !== true) return false;
  return which === 'redo' || done.length > 0;
}

function head({ take }: EditedTake, { at, by = 'player', joins = false }: EditStamp): EditHead {
  return { seq: take.edits.length + 1, at, by, ...(joins ? { joins } : {}) };
}

function stepped(state: EditedTake, line: Edit): { state: EditedTake; edit: Edit } | null {
  try {
    return { state: applyEdit(state, line), edit: line };
  } catch (error) {
    // A take from elsewhere may hold edits that don't fit.
    if (error instanceof RangeError) return null;
    throw error;
  }
}
