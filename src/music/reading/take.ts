import { findPlayable } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { Note } from '../../tab/note.ts';
import { tabOf } from '../../tab/tab-note.ts';
import { chordOnHarp } from './chord.ts';
import type { TabMelody } from './tab.ts';

/** The part of a take that makes a melody. */
export interface PlayedNotes {
  readonly notes: readonly Pick<
    Note,
    'onsetSec' | 'offsetSec' | 'hole' | 'breath' | 'bend' | 'over' | 'midi' | 'holes' | 'shake'
  >[];
  readonly phrases: readonly { readonly firstNote: number; readonly lastNote: number }[];
}

/**
 * The melody of a take as it was meant: the nominal pitch of each hole and technique, not the measured one. One beat is one
 * second.
 * @param harp  all notes of the take's harp; a note that it does not have counts as the nearest semitone
 */
export function melodyFromTake(take: PlayedNotes, harp: readonly PlayableNote[]): TabMelody {
  const startSec = take.notes[0]?.onsetSec ?? 0;
  const notes = take.notes.map((note, i) => {
    const end = Math.min(note.offsetSec, take.notes[i + 1]?.onsetSec ?? note.offsetSec);
    return {
      midi: findPlayable(harp, note)?.midi ?? Math.round(note.midi),
      onsetBeats: note.onsetSec - startSec,
      durationBeats: Math.max(end - note.onsetSec, Number.EPSILON),
      ...chordOnHarp(note, harp),
    };
  });
  const starts = take.phrases
    .map(({ firstNote }) => firstNote)
    .filter((start) => start > 0 && start < notes.length);
  return {
    melody: {
      notes,
      title: null,
      beatsPerMinute: 60,
      metre: null,
      tonic: null,
      lineStarts: [0, ...new Set(starts)],
      remarks: [],
    },
    tab: take.notes.map(tabOf),
  };
}
