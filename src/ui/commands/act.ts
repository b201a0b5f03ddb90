import type { Note } from '../../tab/note.ts';
import type { EditAction } from '../../take/edits/action.ts';
import type { Edit } from '../../take/edits/edit.ts';
import { type EditedTake, edit, editsOf, redo, stepGoesOn, undo } from '../../take/edits/edits.ts';
import type { Take } from '../../take/schema.ts';
import { type Effect, type Step, say, type UiState, withTake } from '../state/state.ts';

/** What a command gets: the screen, the key, and when it was pressed (ISO 8601). */
export interface CommandContext {
  readonly state: UiState;
  readonly key: string;
  readonly at: string;
}

/** The current note. */
export const noteAt = (state: UiState): Note => state.edited.take.notes[state.at];
/** A step without effects outside the screen. */
export const still = (state: UiState): Step => ({ state, effects: [] });

const LOOK_ONLY = 'it is open read-only: to change it, copy the take to a folder of your own';

/** Applies an action to the take; if it changes nothing, only shows a message. */
export function act(
  context: CommandContext,
  action: EditAction,
  nothing: string,
  { by = 'player', joins = false }: { by?: Edit['by']; joins?: boolean } = {},
): Step {
  const { state, at } = context;
  if (state.isReadOnly) return still(say(state, LOOK_ONLY));
  const done = edit(state.edited, action, { at, by, joins }, state.custom);
  if (done === null) return still(say(state, nothing));
  return stepped(state, done, state.at);
}

function stepped(state: UiState, done: { state: EditedTake; edit: Edit }, at: number): Step {
  const effects: Effect[] = [{ kind: 'journal', edit: done.edit }];
  return {
    state: {
      ...withTake(state, done.state, at),
      message: null,
      offer: null,
      ring: null,
      mark: null,
      anchor: null,
    },
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

/** Undoes or redoes a step, and goes to where that shows. */
export function takeStep({ state, at }: Pick<CommandContext, 'state' | 'at'>, which: 'undo' | 'redo'): Step {
  if (state.isReadOnly) return still(say(state, LOOK_ONLY));
  const effects: Effect[] = [];
  let edited = state.edited;
  let last: Edit | null = null;
  do {
    const done = which === 'undo' ? undo(edited, { at }) : redo(edited, { at });
    if (done === null) break;
    edited = done.state;
    last = done.edit;
    effects.push({ kind: 'journal', edit: last });
  } while (stepGoesOn(edited, which));
  if (last === null) return still(say(state, which === 'undo' ? 'nothing to undo' : 'nothing to redo'));
  const to = touched(state.edited.take, edited.take, last) ?? state.at;
  return { ...stepped(state, { state: edited, edit: last }, to), effects };
}

/** The note where an undone or redone edit shows. */
function touched(before: Take, after: Take, edit: Edit): number | null {
  const of = 'of' in edit ? editsOf(after)[edit.of - 1] : null;
  if (of === null || !('patch' in of)) return null;
  const place = (id: string | null) => after.notes.findIndex((note) => note.id === id);
  const note = of.patch.notes?.[0];
  if (note !== undefined) return place(note.id) >= 0 ? place(note.id) : (note.at ?? null);
  if (of.patch.words !== undefined) {
    const differs = firstDifference(before.words, after.words);
    const syllable = after.words[differs] ?? before.words[differs];
    return syllable === undefined || place(syllable.noteId) < 0 ? null : place(syllable.noteId);
  }
  if (of.patch.phrases !== undefined) {
    const differs = firstDifference(before.phrases, after.phrases);
    const [a, b] = [before.phrases[differs], after.phrases[differs]];
    if (a === undefined || b === undefined) return (a ?? b)?.firstNote ?? null;
    return a.lastNote === b.lastNote ? b.firstNote : Math.min(a.lastNote, b.lastNote) + 1;
  }
  return null;
}

function firstDifference(a: readonly unknown[], b: readonly unknown[]): number {
  const count = Math.max(a.length, b.length);
  for (let i = 0; i < count; i++) if (JSON.stringify(a[i]) !== JSON.stringify(b[i])) return i;
  return count;
}
