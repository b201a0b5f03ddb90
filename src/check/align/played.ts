import type { PlayableNote } from '../../harp/types.ts';
import type { TabNote } from '../../tab/tab-note.ts';
import type { Take } from '../../take/schema.ts';
import { soundingMidis } from './reference.ts';

/** What matching needs of a student's note. */
export interface PlayedNote {
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** How sure it is, [0, 1]. */
  readonly confidence: number;
  /** Integer MIDI number of the note on the student's harp; the highest if there are several holes. */
  readonly midi: number;
  /** All that sounds, ascending. */
  readonly midis: readonly number[];
  readonly tab: TabNote;
  /** True when it is too unsure or too short to count against the student: it can only stand for a note of its pitch. */
  readonly onlyFor?: boolean;
}

/** Notes of a take as matching needs them. @param onlyFor  ids of those that can't count against anyone */
export function playedOf(
  notes: readonly Take['notes'][number][],
  harp: readonly PlayableNote[],
  onlyFor: ReadonlySet<string> = new Set(),
): PlayedNote[] {
  return notes.map((note) => {
    const midis = soundingMidis(harp, note);
    return {
      onsetSec: note.onsetSec,
      offsetSec: note.offsetSec,
      confidence: note.confidence,
      midi: midis[midis.length - 1],
      midis,
      tab: note,
      onlyFor: onlyFor.has(note.id),
    };
  });
}
