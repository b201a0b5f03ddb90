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
  /** First visible row, and how far it can be scrolled. */
  | { readonly kind: 'help'; readonly top: number; readonly last: number }
  | WordsMode
  /** The next digit is the number of semitones to bend by. */
  | { readonly kind: 'bend' }
  /** The next key is the hole to add or drop. */
  | { readonly kind: 'along' }
  /** The next key is the ornament to add or remove. */
  | { readonly kind: 'ornament' }
  /** All phrases in a list, and the one that the cursor is on. */
  | { readonly kind: 'overview'; readonly phrase: number }
  | { readonly kind: 'harp'; readonly field: number; readonly draft: HarpSpec }
  | PromptMode
  /** Another program changed or deleted the take: the player chooses between the two. */
  | ConflictMode
  /** `word` is what has been typed so far to discard changes. */
  | { readonly kind: 'quit'; readonly word: string }
  | { readonly kind: 'recover'; readonly recovery: Extract<Recovery, { kind: 'edits' | 'foreign' }> };

/** A line of text is typed: what to go to, a section's name, bars. */
export interface PromptMode {
  readonly kind: 'prompt';
  readonly what: 'find' | 'section' | 'form' | 'bars' | 'title' | 'advice' | 'advice-all';
  readonly text: string;
}

/** The settings of a harp, in the order of the dialog. */
export const HARP_FIELDS = ['key', 'tuning', 'A4', 'temperament'] as const;

/** What another program has done to the take, and whether the player wanted to quit after saving. */
export interface ConflictMode {
  readonly kind: 'conflict';
  readonly theirs: { readonly take: Take; readonly text: string } | null;
  readonly merge: TakePatch | null;
}

/** A line of words is being typed under the current phrase. */
export interface WordsMode {
  readonly kind: 'words';
  readonly text: string;
  /** Position in the text, in characters as readers see them. */
  readonly caret: number;
  /** How the words were just split, and what was there before. */
  readonly split: { readonly language: string; readonly unsplit: string } | null;
  /** Several lines that were just pasted, and the line into which they were pasted. */
  readonly pasted: { readonly text: string; readonly into: WordsMode } | null;
  /** All words of the take as they were when the line was opened. */
  readonly before: Take['words'];
  /** Syllables of `before` without a note that were restored to the line. */
  readonly gotBack: readonly TakeSyllable[];
  /** The line as it is in the take so far; it is kept while being typed. */
  readonly kept: string;
  /** Whether it was kept since it was opened; later changes belong to the same step. */
  readonly isBegun: boolean;
}

/** A sentence for the player; `alert` is for what went wrong. */
export interface Message {
  readonly text: string;
  readonly tone: 'plain' | 'alert';
}

/** Whether the recording of the take is there and usable. */
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

/** The state of the screen. */
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
  /** The last search. */
  readonly lastFind: string;
  /** Whether the program handles clicks and the wheel. */
  readonly mouse: boolean;
  /** The verse whose words are shown and typed, from 1. */
  readonly verse: number;
  /** Language by which words were last split; null before that. */
  readonly language: string | null;
  readonly mode: Mode;
  readonly message: Message | null;
  readonly offer: Offer | null;
  readonly ring: Ring | null;
  /** What is being nudged, and the last edit of it; the next nudge belongs to the same step. */
  readonly nudging: { readonly what: string; readonly seq: number } | null;
  /** A harp that was chosen, on which the notes are still to be read. */
  readonly newHarp: HarpSpec | null;
  /** The take read on the last harp shown while choosing one; null until that is read. */
  readonly ahead: Ahead | null;
  /** How many edits the take's file holds. */
  readonly savedEdits: number;
  /** The changes in the file that are not undone, as in `EditedTake.done`. */
  readonly savedDone: readonly number[];
  readonly journal: JournalState;
  readonly recording: RecordingState;
  /** Null until the recording is read. */
  readonly ears: Ears | null;
  /** What sounds in the recording; null until it is heard. */
  readonly hearing: Hearing | null;
  /** The mark that the cursor was sent to; null once it has moved elsewhere. */
  readonly mark: string | null;
  /** Marks that were visited, and those that the player accepted. */
  readonly seen: ReadonlySet<string>;
  readonly passed: ReadonlySet<string>;
  /** What sounds now. */
  readonly playing: Playing | null;
  /** What is played, how fast, and whether holes are played as they are typed. */
  readonly sounds: Playing['what'];
  readonly speed: number;
  readonly soundsTyped: boolean;
  readonly hasPlayer: boolean;
  /** Nothing may be written where the take is. */
  readonly isReadOnly: boolean;
  /** The caution about headphones was shown. */
  readonly cautioned: boolean;
}

/** What has to happen outside the screen after a key. */
export type Effect =
  | { readonly kind: 'journal'; readonly edit: Edit }
  | { readonly kind: 'save'; readonly thenQuit: boolean; readonly over?: boolean }
  /** Writes the player's take to another file, then continues from theirs, if there is one. */
  | { readonly kind: 'save-elsewhere'; readonly take: Take; readonly theirs: ConflictMode['theirs'] }
  /** Continues from what another program saved, with these edits of the player. */
  | {
      readonly kind: 'adopt';
      readonly theirs: NonNullable<ConflictMode['theirs']>;
      readonly edits: readonly Edit[];
      /** Whether the player's take is in a file of its own. */
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
  /** Reads the notes on the new harp, once the screen says so. */
  | { readonly kind: 'read-notes' }
  /** Reads the take on a harp that is being chosen, in advance. */
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
  /** Splits words; null guesses their language. */
  | { readonly kind: 'split-words'; readonly text: string; readonly language: string | null };

export interface Step {
  readonly state: UiState;
  readonly effects: readonly Effect[];
}

/** A screen with a take, before anything is done. */
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

/** Message while the take is being written. */
export const SAVING = 'saving';

export const say = (state: UiState, text: string, tone: Message['tone'] = 'plain'): UiState => ({
  ...state,
  message: { text, tone },
});

/** How many changes are not in the take's file; none if everything since was undone. */
export function unsavedCount({ edited, savedEdits, savedDone }: UiState): number {
  const isAsSaved =
    edited.done.length === savedDone.length && edited.done.every((seq, i) => seq === savedDone[i]);
  return isAsSaved ? 0 : edited.take.edits.length - savedEdits;
}
