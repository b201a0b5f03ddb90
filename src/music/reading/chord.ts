import { pitchesOf } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { TabNote } from '../../tab/tab-note.ts';
import type { MelodyNote } from '../melody.ts';

/** The pitches of a note of several holes, for a melody; empty for a single hole. */
export function chordOnHarp(note: TabNote, harp: readonly PlayableNote[]): Pick<MelodyNote, 'chord'> {
  const midis = pitchesOf(harp, note);
  return midis.length > 1 ? { chord: midis } : {};
}
