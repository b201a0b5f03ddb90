import type { Edit } from '../../take/edit.ts';
import { openEdits, replay } from '../../take/edits.ts';
import type { JournalState } from '../../take/journal.ts';
import type { TakePatch } from '../../take/patch.ts';
import { CLICKED, PASTED } from '../input.ts';
import { commandOf, DISCARD, HEAR_KEYS } from '../keys.ts';
import type { Ears } from '../state/ears.ts';
import type { Hearing } from '../state/hearing.ts';
import {
  type ConflictMode,
  type RecordingState,
  type Size,
  type Step,
  say,
  type UiState,
  unsavedCount,
  withTake,
} from '../state/state.ts';
import { HELP_LINES, helpRows } from '../view/help.ts';
import { noteUnder } from '../view/hit.ts';
import { type CommandContext, moveTo, still } from './act.ts';
import { harpKeyPressed, openHarp, readOnNewHarp } from './harp.ts';
import { followHead, hear, silentBecause, soundTyped, stop } from './hear.ts';
import { onBareSound } from './marks.ts';
import { NOTE_COMMANDS } from './notes.ts';
import { promptKey } from './prompt.ts';
import { bendBy } from './reading.ts';
import { draft, openWords, putSplit, wordsKey } from './words.ts';

/** What happens to the screen: a key, or news from outside. */
export type UiEvent =
  | { readonly kind: 'key'; readonly key: string; readonly at: string }
  /** The screen shows the harp that was chosen: its notes can be read. */
  | { readonly kind: 'read-notes'; readonly at: string }
  /** Words have been typed for a moment: they are kept. */
  | { readonly kind: 'keep-typed'; readonly at: string }
  | { readonly kind: 'resize'; readonly size: Size }
  | { readonly kind: 'journal'; readonly journal: JournalState }
  | { readonly kind: 'saved'; readonly edits: number }
  | { readonly kind: 'failed'; readonly text: string }
  /** The take was not saved: another program has changed or deleted it. */
  | { readonly kind: 'conflict'; readonly theirs: ConflictMode['theirs']; readonly merge: TakePatch | null }
  /** One's own take is in that file; from here on theirs is gone on with. */
  | { readonly kind: 'saved-elsewhere'; readonly name: string; readonly theirs: ConflictMode['theirs'] }
  /** The old journal is out of the way, under this name. */
  | { readonly kind: 'set-aside'; readonly name: string }
  | {
      readonly kind: 'recording';
      readonly recording: RecordingState;
      readonly ears: Ears | null;
      readonly text?: string;
    }
  | { readonly kind: 'hearing'; readonly hearing: Hearing }
  /** What sounds has come to there. */
  | { readonly kind: 'playhead'; readonly sec: number }
  | { readonly kind: 'played'; readonly failure: string | null }
  /** `text` is `of` with its words split. */
  | {
      readonly kind: 'words-split';
      readonly of: string;
      readonly text: string;
      readonly language: string;
      readonly at: string;
    };

/** The screen after an event, and what has to be done outside. */
export function reduce(state: UiState, event: UiEvent): Step {
  switch (event.kind) {
    case 'key':
      return pressedNext({ state, key: event.key, at: event.at });
    case 'read-notes':
      return readOnNewHarp({ state, key: '', at: event.at });
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
        // What was left in a journal stays on offer: going on would write over it.
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

/** What the take's file holds once so many edits are in it. */
function savedAfter({ edited }: UiState, edits: number): Pick<UiState, 'savedEdits' | 'savedDone'> {
  const { take } = edited;
  const { done } =
    edits === take.edits.length ? edited : openEdits({ ...take, edits: take.edits.slice(0, edits) });
  return { savedEdits: edits, savedDone: done };
}

/** Commands that give a note another hole, which may be heard. */
const TYPED: ReadonlySet<string> = new Set(['hole', 'breath', 'bend', 'shallower', 'over', 'cure']);

/** Commands for which it makes no difference how the notes are read. */
const BLIND_COMMANDS: ReadonlySet<string> = new Set(['note', 'phrase', 'ends', 'help']);

/** A key that comes before the notes were read on a new harp finds them read, unless it needs none. */
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
    case 'prompt':
      return promptKey(context, command);
    case 'conflict':
      return conflictKey(context, command);
    case 'bend': {
      const back: UiState = { ...state, mode: { kind: 'notes' }, message: null };
      return command === 'bend-to' ? bendBy({ ...context, state: back }, Number(key)) : still(back);
    }
    case 'notes':
      return notesKey(context, command);
  }
}

function notesKey(context: CommandContext, command: string | undefined): Step {
  const { state } = context;
  if (context.key.startsWith(CLICKED)) return still(click(state, context.key.slice(CLICKED.length)));
  if (context.key.startsWith(PASTED)) return still(say(state, 'words are pasted after w'));
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
      return still(openHarp(state));
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
        : { state: say(state, 'saving'), effects: [{ kind: 'save', thenQuit: false }] };
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

function helpKey(state: UiState, key: string, command: string | undefined): Step {
  if (command === 'back') return still({ ...state, mode: { kind: 'notes' } });
  if (command !== 'scroll' || state.mode.kind !== 'help') return still(state);
  const page = Math.max(1, helpRows(state.size) - 1);
  return still(withHelpTop(state, { up: -1, down: 1, pageup: -page }[key] ?? page));
}

/** The help scrolled by some rows, no further than to its ends. */
function withHelpTop(state: UiState, by: number): UiState {
  if (state.mode.kind !== 'help') return state;
  const last = Math.max(0, HELP_LINES.length - helpRows(state.size));
  return { ...state, mode: { kind: 'help', top: Math.max(0, Math.min(last, state.mode.top + by)), last } };
}

function quitKey(state: UiState, key: string, command: string | undefined): Step {
  if (state.mode.kind !== 'quit') return still(state);
  const { word } = state.mode;
  const typed = (text: string): Step =>
    still({ ...state, message: null, mode: { kind: 'quit', word: text } });
  const quit = (journal: 'keep' | 'clear'): Step => ({ state, effects: [{ kind: 'quit', journal }] });
  if (word !== '') {
    if (key === 'enter' && word === DISCARD) return quit('clear');
    if (key === 'enter') return still(say(state, `'${word}' is not '${DISCARD}': Esc goes on with the take`));
    if (key === 'backspace') return typed(word.slice(0, -1));
    if (key === 'escape' || key === 'ctrl-c') return typed('');
    return key.length === 1 && word.length < DISCARD.length ? typed(word + key) : still(state);
  }
  switch (command) {
    case 'save-quit':
      return { state: say(state, 'saving'), effects: [{ kind: 'save', thenQuit: true }] };
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

/** Goes on from what another program saved, with some edits of one's own. */
function adopt(
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

function conflictKey({ state, at }: CommandContext, command: string | undefined): Step {
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
      return { state: say(state, 'saving'), effects: [{ kind: 'save-elsewhere', take, theirs }] };
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
      return { state: say(open, 'saving'), effects: [{ kind: 'save', thenQuit: false, over: true }] };
    }
    case 'back':
      return still({ ...state, mode: { kind: 'notes' }, message: null });
    default:
      return still(state);
  }
}

function recoverKey(state: UiState, command: string | undefined): Step {
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
