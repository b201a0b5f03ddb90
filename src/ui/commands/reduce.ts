import { openEdits } from '../../take/edits/edits.ts';
import { CLICKED, PASTED } from '../input.ts';
import { commandOf, HEAR_KEYS } from '../keys.ts';
import type { UiEvent } from '../state/event.ts';
import { SAVING, type Step, say, type UiState, unsavedCount } from '../state/state.ts';
import { noteUnder } from '../view/hit.ts';
import { type CommandContext, moveTo, still } from './act.ts';
import { alongKey } from './along.ts';
import { adopt, conflictKey, quitKey, recoverKey } from './endings.ts';
import { harpKeyPressed, openHarp, readOnNewHarp } from './harp.ts';
import { followHead, hear, silentBecause, soundTyped, stop } from './hear.ts';
import { helpKey, withHelpTop } from './help.ts';
import { onBareSound } from './marks.ts';
import { NOTE_COMMANDS } from './notes.ts';
import { ornamentKey } from './ornament.ts';
import { openOverview, overviewKey } from './overview.ts';
import { promptKey } from './prompt.ts';
import { bendBy } from './reading.ts';
import { wordsKey } from './words/keys.ts';
import { draft, openWords } from './words/line.ts';
import { putSplit } from './words/paste.ts';

/** The screen after an event, and the effects outside it. */
export function reduce(state: UiState, event: UiEvent): Step {
  switch (event.kind) {
    case 'key':
      return pressedNext({ state, key: event.key, at: event.at });
    case 'read-notes':
      return readOnNewHarp({ state, key: '', at: event.at });
    case 'read-ahead':
      return still({ ...state, ahead: event.ahead });
    case 'keep-typed':
      return state.mode.kind === 'words' ? draft({ state, key: '', at: event.at }) : still(state);
    case 'resize':
      return still(withHelpTop({ ...state, size: event.size }, 0));
    case 'journal':
      return still({ ...state, journal: event.journal });
    case 'saved':
      return still(say({ ...state, ...savedAfter(state, event.edits) }, 'saved'));
    case 'conflict':
      return still({ ...state, message: null, mode: { ...event } });
    case 'saved-elsewhere': {
      const said = `your changes are in '${event.name}'`;
      if (event.theirs === null) return still(say({ ...state, mode: { kind: 'notes' } }, said));
      return adopt(state, event.theirs, [], said, true);
    }
    case 'failed':
      return {
        // What was left in a journal is still offered, as going on would overwrite it.
        state: say(
          { ...state, mode: state.mode.kind === 'recover' ? state.mode : { kind: 'notes' } },
          event.text,
          'alert',
        ),
        effects: [],
      };
    case 'set-aside':
      return still(say({ ...state, mode: { kind: 'notes' } }, `put aside as '${event.name}'`));
    case 'recording': {
      const heard = { ...state, recording: event.recording, ears: event.ears };
      return still(event.text === undefined ? heard : say(heard, event.text));
    }
    case 'hearing':
      return still({ ...state, hearing: event.hearing });
    case 'playhead':
      return still(followHead(state, event.sec));
    case 'played': {
      const { state: ended } = stop(state, state.playing === null);
      return still(event.failure === null ? ended : say(ended, event.failure, 'alert'));
    }
    case 'words-split':
      return putSplit({ state, key: '', at: event.at }, event);
  }
}

/** What is saved once the take's file has this many edits. */
function savedAfter({ edited }: UiState, edits: number): Pick<UiState, 'savedEdits' | 'savedDone'> {
  const { take } = edited;
  const { done } =
    edits === take.edits.length ? edited : openEdits({ ...take, edits: take.edits.slice(0, edits) });
  return { savedEdits: edits, savedDone: done };
}

/** Commands that give a note another hole, which may then be played. */
const TYPED: ReadonlySet<string> = new Set(['hole', 'breath', 'bend', 'shallower', 'over', 'cure']);

/** Commands that do not depend on how the notes are read. */
const BLIND_COMMANDS: ReadonlySet<string> = new Set(['note', 'phrase', 'ends', 'help']);

/**
 * Handles a key that comes before the notes were read on a new harp: reads them first, unless the key doesn't need
 * that.
 */
function pressedNext(context: CommandContext): Step {
  const { state, key } = context;
  if (state.newHarp !== null && BLIND_COMMANDS.has(commandOf(state, key) ?? '')) return pressed(context);
  const read = readOnNewHarp(context);
  const step = pressed({ ...context, state: read.state });
  return { ...step, effects: [...read.effects, ...step.effects] };
}

function pressed(context: CommandContext): Step {
  const { state, key } = context;
  const command = commandOf(state, key);
  switch (state.mode.kind) {
    case 'words':
      return wordsKey(context, command);
    case 'harp':
      return harpKeyPressed(context, command);
    case 'help':
      return helpKey(state, key, command);
    case 'quit':
      return quitKey(state, key, command);
    case 'recover':
      return recoverKey(state, command);
    case 'along':
      return alongKey(answered(context), command);
    case 'ornament':
      return ornamentKey(answered(context), command);
    case 'overview':
      return overviewKey(context, command);
    case 'prompt':
      return promptKey(context, command);
    case 'conflict':
      return conflictKey(context, command);
    case 'bend': {
      const back = answered(context);
      return command === 'bend-to' ? bendBy(back, Number(key)) : still(back.state);
    }
    case 'notes':
      return notesKey(context, command);
  }
}

/** The context with the question closed, in which the answer is carried out. */
const answered = (context: CommandContext): CommandContext => ({
  ...context,
  state: { ...context.state, mode: { kind: 'notes' }, message: null },
});

function notesKey(context: CommandContext, command: string | undefined): Step {
  const { state } = context;
  if (context.key.startsWith(CLICKED)) return still(click(state, context.key.slice(CLICKED.length)));
  if (context.key.startsWith(PASTED)) return still(say(state, 'press w first, then paste the words'));
  if (command === undefined && HEAR_KEYS.has(context.key)) return still(say(state, silentBecause(state)));
  if (command === undefined) {
    return still(
      context.key === 'escape' ? { ...state, offer: null, message: null, mark: null, anchor: null } : state,
    );
  }
  const bare = onBareSound(context, command);
  if (bare !== null) return soundTyped(bare);
  const onNote = NOTE_COMMANDS[command];
  if (onNote !== undefined) return TYPED.has(command) ? soundTyped(onNote(context)) : onNote(context);
  switch (command) {
    case 'words':
      return still(openWords(state));
    case 'harp':
      return openHarp(state);
    case 'overview':
      return still(openOverview(state));
    case 'mouse':
      return still(
        say(
          { ...state, mouse: !state.mouse },
          state.mouse ? 'the mouse is left to the terminal' : 'a click goes to a note',
        ),
      );
    case 'help':
      return still(withHelpTop({ ...state, mode: { kind: 'help', top: 0, last: 0 } }, 0));
    case 'save':
      return unsavedCount(state) === 0
        ? still(say(state, 'nothing to save'))
        : { state: say(state, SAVING), effects: [{ kind: 'save', thenQuit: false }] };
    case 'quit':
      return unsavedCount(state) === 0
        ? { state, effects: [{ kind: 'quit', journal: 'clear' }] }
        : still({ ...state, mode: { kind: 'quit', word: '' } });
    case 'stop':
      return stop(state, false);
    case 'stop-here':
      return stop(state, true);
    default:
      return hear(state, command);
  }
}

/** Goes to the note that was clicked, in the tab, over the pitch or on the row of the whole take. */
function click(state: UiState, place: string): UiState {
  const [column, row] = place.split(',').map(Number);
  const at = noteUnder(state, column, row);
  return at === null ? state : { ...moveTo(state, at), anchor: null };
}
