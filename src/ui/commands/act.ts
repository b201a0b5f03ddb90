import type { Note } from '../../tab/note.ts';
import type { EditAction } from '../../take/change.ts';
import { type Edit, type EditedTake, edit, editsOf, redo, undo } from '../../take/edits.ts';
import { type Effect, type Step, say, type UiState, withTake } from '../state/state.ts';

/** What a command works with: the screen, and when the key was pressed (ISO 8601). */
export interface CommandContext {
  readonly state: UiState;
  readonly key: string;
  readonly at: string;
}

/** The current note. */
export const noteAt = (state: UiState): Note => state.edited.take.notes[state.at];
/** A key that has no effects outside. */
export const still = (state: UiState): Step => ({ state, effects: [] });

/** Does an action to the take; a message is all that happens when it changes nothing. */
export function act(
  context: CommandContext,
  action: EditAction,
  nothing: string,
  by: Edit['by'] = 'player',
): Step {
  const { state, at } = context;
  const done = edit(state.edited, action, { at, by }, state.custom);
  if (done === null) return still(say(state, nothing));
  return stepped(state, done, state.at);
}

function stepped(state: UiState, done: { state: EditedTake; edit: Edit }, at: number): Step {
  const effects: Effect[] = [{ kind: 'journal', edit: done.edit }];
  return {
    state: { ...withTake(state, done.state, at), message: null, offer: null, ring: null, mark: null },
    effects,
  };
}

/** Makes another note the current one. */
export function moveTo(state: UiState, at: number): UiState {
  const last = state.edited.take.notes.length - 1;
  const to = Math.max(0, Math.min(last, at));
  if (to === state.at && state.mark === null) return state;
  return { ...state, at: to, message: null, mark: null, offer: null };
}

/** Takes the latest change back, or does it again, and goes to where it is seen. */
export function takeStep(context: CommandContext, which: 'undo' | 'redo'): Step {
  const { state, at } = context;
  const done = which === 'undo' ? undo(state.edited, { at }) : redo(state.edited, { at });
  if (done === null)
    return still(say(state, which === 'undo' ? 'nothing to take back' : 'nothing to do again'));
  return stepped(state, done, touched(done.state, done.edit) ?? state.at);
}

/** Where an undone or redone edit is seen. */
function touched(edited: EditedTake, { what, ...rest }: Edit): number | null {
  const of = (rest as { of?: number }).of;
  const line = of === undefined ? null : editsOf(edited.take)[of - 1];
  const first = line !== null && 'patch' in line ? line.patch.notes?.[0] : undefined;
  if (first === undefined || what === undefined) return null;
  const now = edited.take.notes.findIndex(({ id }) => id === first.id);
  return now >= 0 ? now : (first.at ?? null);
}
