import type { Edit } from '../../take/edits/edit.ts';
import { openEdits, replay } from '../../take/edits/edits.ts';
import { DISCARD } from '../keys.ts';
import { type ConflictMode, SAVING, type Step, say, type UiState, withTake } from '../state/state.ts';
import { type CommandContext, still } from './act.ts';

/** What a key does while the screen asks what to do with unsaved changes. */
export function quitKey(state: UiState, key: string, command: string | undefined): Step {
  if (state.mode.kind !== 'quit') return still(state);
  const { word } = state.mode;
  const typed = (text: string): Step =>
    still({ ...state, message: null, mode: { kind: 'quit', word: text } });
  const quit = (journal: 'keep' | 'clear'): Step => ({ state, effects: [{ kind: 'quit', journal }] });
  if (word !== '') {
    if (key === 'enter' && word === DISCARD) return quit('clear');
    if (key === 'enter') return still(say(state, `'${word}' is not '${DISCARD}': Esc returns to the take`));
    if (key === 'backspace') return typed(word.slice(0, -1));
    if (key === 'escape' || key === 'ctrl-c') return typed('');
    return key.length === 1 && word.length < DISCARD.length ? typed(word + key) : still(state);
  }
  switch (command) {
    case 'save-quit':
      return { state: say(state, SAVING), effects: [{ kind: 'save', thenQuit: true }] };
    case 'keep-quit':
      return quit('keep');
    case 'drop-quit':
      return typed(key);
    case 'back':
      return still({ ...state, mode: { kind: 'notes' } });
    default:
      return still(state);
  }
}

/** Continues from what another program saved, with some of the player's own edits. */
export function adopt(
  state: UiState,
  theirs: NonNullable<ConflictMode['theirs']>,
  edits: readonly Edit[],
  said: string,
  isSafe = false,
): Step {
  const opened = openEdits(theirs.take);
  const there = withTake({ ...state, mode: { kind: 'notes' } }, replay(opened, edits), state.at);
  const saved = { savedEdits: theirs.take.edits.length, savedDone: opened.done };
  return { state: say({ ...there, ...saved }, said), effects: [{ kind: 'adopt', theirs, edits, isSafe }] };
}

/** What a key does while a conflict with another program is shown. */
export function conflictKey({ state, at }: CommandContext, command: string | undefined): Step {
  const { mode } = state;
  if (mode.kind !== 'conflict') return still(state);
  const { theirs, merge } = mode;
  const { take } = state.edited;
  switch (command) {
    case 'merge': {
      if (theirs === null || merge === null) return still(state);
      const seq = theirs.take.edits.length + 1;
      const line: Edit = { seq, at, by: 'player', what: 'merged', patch: merge };
      return adopt(state, theirs, [line], 'your changes are in theirs now, not saved yet');
    }
    case 'mine-elsewhere':
      return { state: say(state, SAVING), effects: [{ kind: 'save-elsewhere', take, theirs }] };
    case 'theirs':
      return theirs === null
        ? still(state)
        : adopt(
            state,
            theirs,
            [],
            'this is what the other program saved; your changes are in a journal that was put aside',
          );
    case 'write-again': {
      const open: UiState = { ...state, mode: { kind: 'notes' } };
      return { state: say(open, SAVING), effects: [{ kind: 'save', thenQuit: false, over: true }] };
    }
    case 'back':
      return still({ ...state, mode: { kind: 'notes' }, message: null });
    default:
      return still(state);
  }
}

/** What a key does while changes from last time are offered. */
export function recoverKey(state: UiState, command: string | undefined): Step {
  if (state.mode.kind !== 'recover') return still(state);
  const { recovery } = state.mode;
  const open: UiState = { ...state, mode: { kind: 'notes' } };
  switch (command) {
    case 'recover': {
      if (recovery.kind !== 'edits') return still(state);
      const back = withTake(open, replay(state.edited, recovery.edits), state.at);
      const count = recovery.edits.length;
      return {
        state: say(back, `${count} ${count === 1 ? 'change is' : 'changes are'} back, not saved yet`),
        effects: [{ kind: 'resume', bytes: recovery.bytes, edits: recovery.edits }],
      };
    }
    case 'set-aside':
      return { state, effects: [{ kind: 'set-aside' }] };
    case 'leave':
      return { state, effects: [{ kind: 'quit', journal: 'keep' }] };
    default:
      return still(state);
  }
}
