import type { HarpSpec } from '../../harp/types.ts';
import type { BeatOptions } from '../../music/rhythm/beats.ts';
import type { NoteOrnament } from '../../tab/ornament.ts';
import type { TabNote } from '../../tab/tab-note.ts';
import type { TakeSyllable } from '../schema.ts';
import type { TakePatch } from './patch.ts';

/** What a player can do to a take; notes are named by their ids. Actions that don't fit the take change nothing. */
export type EditAction =
  /** These notes are that hole, breath and technique; `f0Hz` is their pitch when it was measured again for that. */
  | {
      readonly kind: 'read';
      readonly ids: readonly string[];
      readonly as: TabNote;
      readonly f0Hz?: number | undefined;
    }
  /** Readings that the program offered for these notes and the player accepted. */
  | { readonly kind: 'offer'; readonly readings: readonly (readonly [id: string, as: TabNote])[] }
  /** These notes are right as they are. */
  | { readonly kind: 'accept'; readonly ids: readonly string[] }
  /** An onset or offset; where two notes touch, both move. */
  | { readonly kind: 'move'; readonly id: string; readonly edge: 'onset' | 'offset'; readonly toSec: number }
  /** Two notes from one; `f0Hz` are their pitches when they were measured. */
  | {
      readonly kind: 'split';
      readonly id: string;
      readonly atSec: number;
      readonly f0Hz?: readonly [first: number, second: number] | undefined;
    }
  /** This note and the next become one. */
  | { readonly kind: 'merge'; readonly id: string }
  /** A note that was missed; without `f0Hz` its pitch is that of its hole. */
  | {
      readonly kind: 'insert';
      readonly onsetSec: number;
      readonly offsetSec: number;
      readonly as: TabNote;
      readonly f0Hz?: number | undefined;
    }
  /** A sound that was left out becomes a note with this tab. */
  | { readonly kind: 'bring-back'; readonly onsetSec: number; readonly as: TabNote }
  /** Deletes notes; those that had been left out are left out again. */
  | { readonly kind: 'delete'; readonly ids: readonly string[] }
  /** Ornaments of notes, in order of time within each. */
  | {
      readonly kind: 'ornaments';
      readonly notes: readonly (readonly [id: string, ornaments: readonly NoteOrnament[]])[];
    }
  /**
   * Another harp; all notes that are not settled are read again. `read` is the result of that, if it is already known.
   */
  | { readonly kind: 'harp'; readonly harp: HarpSpec; readonly read?: TakePatch | undefined }
  /** Readings of some notes carried over to others, such as the repeats of a phrase. */
  | { readonly kind: 'carry'; readonly pairs: readonly (readonly [fromId: string, toId: string])[] }
  /** A phrase begins at this position among the notes, or, where one does, is joined to the one before. */
  | { readonly kind: 'phrase-break'; readonly at: number }
  /** Separates neighbouring notes from their phrase: they join the one beside them, or become one of their own. */
  | { readonly kind: 'other-phrase'; readonly first: number; readonly last: number }
  /** Name of the tune; empty removes it. */
  | { readonly kind: 'title'; readonly title: string }
  /** What the teacher says to a phrase, or to all (null); empty for nothing. */
  | { readonly kind: 'advice'; readonly phrase: number | null; readonly text: string }
  /** Name of the section that begins with this phrase; empty removes it. */
  | { readonly kind: 'section'; readonly phrase: number; readonly name: string }
  /** Names of all sections in order, placed by what repeats; empty removes all names. */
  | { readonly kind: 'form'; readonly names: readonly string[] }
  /** Moves neighbouring notes earlier or later, all by the same amount. */
  | { readonly kind: 'shift'; readonly ids: readonly string[]; readonly bySec: number }
  /** A bar begins with this note. */
  | { readonly kind: 'downbeat'; readonly id: string }
  /** Tempo, metre or free time given by the player; the beats are found again. */
  | { readonly kind: 'say-beats'; readonly beats: BeatOptions }
  /** Replaces all words of the take, such as when several verses are pasted at once. */
  | { readonly kind: 'verses'; readonly words: readonly TakeSyllable[] }
  /** New words of a verse for these notes; those of other notes and verses stay. */
  | {
      readonly kind: 'words';
      readonly verse: number;
      readonly ids: readonly string[];
      readonly syllables: readonly TakeSyllable[];
    };
