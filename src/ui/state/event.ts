import type { TakePatch } from '../../take/edits/patch.ts';
import type { JournalState } from '../../take/files/journal.ts';
import type { Ahead } from './ahead.ts';
import type { Ears } from './ears.ts';
import type { Hearing } from './hearing.ts';
import type { ConflictMode, RecordingState, Size } from './state.ts';

/** What happens to the screen: a key, or news from outside. */
export type UiEvent =
  | { readonly kind: 'key'; readonly key: string; readonly at: string }
  /** The screen shows the chosen harp, so its notes can now be read. */
  | { readonly kind: 'read-notes'; readonly at: string }
  /** The take has been read on the harp that is being chosen. */
  | { readonly kind: 'read-ahead'; readonly ahead: Ahead }
  /** Words that were typed a moment ago are to be kept. */
  | { readonly kind: 'keep-typed'; readonly at: string }
  | { readonly kind: 'resize'; readonly size: Size }
  | { readonly kind: 'journal'; readonly journal: JournalState }
  | { readonly kind: 'saved'; readonly edits: number }
  | { readonly kind: 'failed'; readonly text: string }
  /** The take was not saved: another program has changed or deleted it. */
  | { readonly kind: 'conflict'; readonly theirs: ConflictMode['theirs']; readonly merge: TakePatch | null }
  /** The player's take is in that file; work continues on theirs. */
  | { readonly kind: 'saved-elsewhere'; readonly name: string; readonly theirs: ConflictMode['theirs'] }
  /** The old journal was set aside under this name. */
  | { readonly kind: 'set-aside'; readonly name: string }
  | {
      readonly kind: 'recording';
      readonly recording: RecordingState;
      readonly ears: Ears | null;
      readonly text?: string;
    }
  | { readonly kind: 'hearing'; readonly hearing: Hearing }
  /** What is playing has reached this time. */
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
