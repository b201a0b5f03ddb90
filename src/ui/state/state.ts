import { playableNotes } from '../../harp/playable.ts';
import type { CustomHarp, HarpSpec, PlayableNote } from '../../harp/types.ts';
import type { TabNote } from '../../tab/tab-note.ts';
import type { Edit } from '../../take/edits/edit.ts';
import { type EditedTake, openEdits } from '../../take/edits/edits.ts';
import type { TakePatch } from '../../take/edits/patch.ts';
import type { JournalState } from '../../take/files/journal.ts';
import type { Recovery } from '../../take/files/recovery.ts';
import type { Take, TakeSyllable } from '../../take/schema.ts';
import { FIRST_VERSE } from '../../take/words.ts';
import type { Ahead } from './ahead.ts';
import type { Offer } from './doubt.ts';
import type { Ears } from './ears.ts';
import type { Hearing } from './hearing.ts';
import { phraseRanges, type Range } from './phrases.ts';

/** Size of the terminal in columns and rows. */
export interface Size {
  readonly columns: number;
  readonly rows: number;
}

/** The size of a terminal that doesn't tell. */
export const USUAL_SIZE: Size = { columns: 80, rows: 24 };

/** What the screen is busy with; keys mean different things in each. */
export type Mode =
  | { readonly kind: 'notes' }
  /** First row that is seen, and the furthest that it can be. */
  | { readonly kind: 'help'; readonly top: number; readonly last: number }
  | WordsMode
  /** The next digit says by how many semitones the note is bent. */
  | { readonly kind: 'bend' }
  /** The next key says which hole sounds along. */
  | { readonly kind: 'along' }
  /** The next key says what is done to the note. */
  | { readonly kind: 'ornament' }
  /** All phrases in a list, and the one that the cursor is on. */
  | { readonly kind: 'overview'; readonly phrase: number }
  | { readonly kind: 'harp'; readonly field: number; readonly draft: HarpSpec }
  | PromptMode
  /** Another program changed or deleted the take: which of both is to be? */
  | ConflictMode
  /** `word` is typed to throw changes away. */
  | { readonly kind: 'quit'; readonly word: string }
  | { readonly kind: 'recover'; readonly recovery: Extract<Recovery, { kind: 'edits' | 'foreign' }> };

/** A line of text is typed: what to go to, a section's name, bars. */
export interface PromptMode {
  readonly kind: 'prompt';
  readonly what: 'find' | 'section' | 'form' | 'bars' | 'title' | 'advice' | 'advice-all';
  readonly text: string;
}

/** What can be said of the harp, in the order of its dialog. */
export const HARP_FIELDS = ['key', 'tuning', 'A4', 'temperament'] as const;

/** What another program has made of the take, and whether the program was to end after saving. */
export interface ConflictMode {
  readonly kind: 'conflict';
  readonly theirs: { readonly take: Take; readonly text: string } | null;
  readonly merge: TakePatch | null;
}

/** A line of words is being typed under the current phrase. */
export interface WordsMode {
  readonly kind: 'words';
  readonly text: string;
  /** Place in the text, in characters as readers see them. */
  readonly caret: number;
  /** How the words were split just now, and what stood there before. */
  readonly split: { readonly language: string; readonly unsplit: string } | null;
  /** Several lines that were pasted just now, and the line that they were pasted into. */
  readonly pasted: { readonly text: string; readonly into: WordsMode } | null;
  /** All words of the take as they were when the line was opened. */
  readonly before: Take['words'];
  /** Syllables of `before` without a note that were got back into the line. */
  readonly gotBack: readonly TakeSyllable[];
  /** The line as the take has it by now: it is kept while it is typed. */
  readonly kept: string;
  /** Whether it was kept since it was opened: what follows belongs to the same step. */
  readonly isBegun: boolean;
}

/** A sentence for the player; `alert` is for what went wrong. */
export interface Message {
  readonly text: string;
  readonly tone: 'plain' | 'alert';
}

/** The recording beside the take, and what can be done with it. */
export type RecordingState = 'looking' | 'missing' | 'other' | 'ready';

/** Readings of a note that are offered one by one. */
interface Ring {
  readonly noteId: string;
  readonly readings: readonly TabNote[];
  readonly at: number;
}

/** What sounds now. */
export interface Playing {
  /** In words. */
  readonly name: string;
  readonly what: 'recording' | 'tab' | 'both';
  readonly fromSec: number;
  readonly toSec: number;
  /** Where in the take it sounds; null before it has begun. */
  readonly headSec: number | null;
  /** The note that the cursor goes back to. */
  readonly backTo: number;
}

/** All that the screen shows. */
export interface UiState {
  /** Name of the take's file. */
  readonly name: string;
  readonly size: Size;
  readonly edited: EditedTake;
  readonly custom: CustomHarp;
  /** Notes of the take's harp. */
  readonly playable: readonly PlayableNote[];
  readonly ranges: readonly Range[];
  /** Position of the current note; 0 when there are none. */
  readonly at: number;
  /** The other end of the range that is marked; null when none is. */
  readonly anchor: number | null;
  /** What was looked for last. */
  readonly lastFind: string;
  /** Clicks and the wheel are listened to. */
  readonly mouse: boolean;
  /** The verse whose words are shown and typed, from 1. */
  readonly verse: number;
  /** Language that words were split by last; null before. */
  readonly language: string | null;
  readonly mode: Mode;
  readonly message: Message | null;
  readonly offer: Offer | null;
  readonly ring: Ring | null;
  /** What is being nudged, and the edit that did it last: the next nudge belongs to the same step. */
  readonly nudging: { readonly what: string; readonly seq: number } | null;
  /** A harp that was chosen, on which the notes are still to be read. */
  readonly newHarp: HarpSpec | null;
  /** The take on the harp that was shown last while one is chosen; null before that is read. */
  readonly ahead: Ahead | null;
  /** How many edits the take's file holds. */
  readonly savedEdits: number;
  /** The changes that it holds and that are not undone, as `EditedTake.done`. */
  readonly savedDone: readonly number[];
  readonly journal: JournalState;
  readonly recording: RecordingState;
  /** Null until the recording was read. */
  readonly ears: Ears | null;
  /** What sounds in the recording; null until it was heard. */
  readonly hearing: Hearing | null;
  /** The mark that the cursor was sent to; null once it has moved elsewhere. */
  readonly mark: string | null;
  /** Marks that were looked at, and those that the player passed as right. */
  readonly seen: ReadonlySet<string>;
  readonly passed: ReadonlySet<string>;
  /** What sounds now. */
  readonly playing: Playing | null;
  /** What sounds when asked, and how fast; whether holes sound as they are typed. */
  readonly sounds: Playing['what'];
  readonly speed: number;
  readonly soundsTyped: boolean;
  readonly hasPlayer: boolean;
  /** Nothing may be written where the take is: it is only looked at. */
  readonly isReadOnly: boolean;
  /** The caution about headphones was shown. */
  readonly cautioned: boolean;
}

/** What has to happen outside after a key. */
export type Effect =
  | { readonly kind: 'journal'; readonly edit: Edit }
  | { readonly kind: 'save'; readonly thenQuit: boolean; readonly over?: boolean }
  /** Writes one's own take to another file; then goes on from theirs, where there is one. */
  | { readonly kind: 'save-elsewhere'; readonly take: Take; readonly theirs: ConflictMode['theirs'] }
  /** Goes on from what another program saved, with these edits of one's own. */
  | {
      readonly kind: 'adopt';
      readonly theirs: NonNullable<ConflictMode['theirs']>;
      readonly edits: readonly Edit[];
      /** One's own take is in a file of its own. */
      readonly isSafe: boolean;
    }
  | { readonly kind: 'quit'; readonly journal: 'keep' | 'clear' }
  | { readonly kind: 'set-aside' }
  | {
      readonly kind: 'resume';
      readonly bytes: number | null;
      readonly edits: readonly Edit[];
    }
  | { readonly kind: 'stop' }
  /** The notes have to be read on the new harp, once the screen says so. */
  | { readonly kind: 'read-notes' }
  /** A harp is being chosen: the take may be read on it meanwhile. */
  | { readonly kind: 'read-ahead'; readonly take: Take; readonly harp: HarpSpec }
  | {
      readonly kind: 'play';
      readonly what: 'recording' | 'tab' | 'both';
      readonly fromSec: number;
      readonly toSec: number;
      /** 2 is half speed. */
      readonly stretch: number;
      readonly loop: boolean;
    }
  /** Without a language, by that which the text seems to be in. */
  | { readonly kind: 'split-words'; readonly text: string; readonly language: string | null };

export interface Step {
  readonly state: UiState;
  readonly effects: readonly Effect[];
}

/** A screen on a take, before anything was done. */
export function openState(
  name: string,
  take: Take,
  custom: CustomHarp,
  hasPlayer: boolean,
  size: Size = USUAL_SIZE,
): UiState {
  const edited = openEdits(take);
  return {
    name,
    size,
    edited,
    custom,
    playable: playableNotes(take.harp, custom),
    ranges: phraseRanges(take),
    at: 0,
    anchor: null,
    lastFind: '',
    mouse: true,
    verse: FIRST_VERSE,
    language: null,
    mode: { kind: 'notes' },
    message: null,
    offer: null,
    ring: null,
    nudging: null,
    newHarp: null,
    ahead: null,
    savedEdits: take.edits.length,
    savedDone: edited.done,
    journal: { kind: 'safe' },
    recording: 'looking',
    ears: null,
    hearing: null,
    mark: null,
    seen: new Set(),
    passed: new Set(),
    playing: null,
    sounds: 'recording',
    speed: 1,
    soundsTyped: false,
    hasPlayer,
    isReadOnly: false,
    cautioned: false,
  };
}

/** The same screen on a changed take. */
export function withTake(state: UiState, edited: EditedTake, at: number): UiState {
  const { take } = edited;
  const harpChanged = take.harp !== state.edited.take.harp;
  return {
    ...state,
    edited,
    playable: harpChanged ? playableNotes(take.harp, state.custom) : state.playable,
    ranges:
      take.phrases === state.edited.take.phrases && take.notes.length === state.edited.take.notes.length
        ? state.ranges
        : phraseRanges(take),
    at: Math.max(0, Math.min(take.notes.length - 1, at)),
  };
}

/** Said while the take is being written. */
export const SAVING = 'saving';

export const say = (state: UiState, text: string, tone: Message['tone'] = 'plain'): UiState => ({
  ...state,
  message: { text, tone },
});

/** How many changes the take's file lacks; none when all that was done since was undone. */
export function unsavedCount({ edited, savedEdits, savedDone }: UiState): number {
  const isAsSaved =
    edited.done.length === savedDone.length && edited.done.every((seq, i) => seq === savedDone[i]);
  return isAsSaved ? 0 : edited.take.edits.length - savedEdits;
}
