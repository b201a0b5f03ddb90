import { chordAt } from '../harp/chords.ts';
import { playableNotes } from '../harp/playable.ts';
import type { TabNote } from '../tab/tab-note.ts';
import { ISO_A4_HZ } from '../units.ts';
import type { Candidate } from './arrange.ts';
import type { Tune } from './tune.ts';

/** A chord of a tune as it lies where its melody is played. */
export interface LaidChord {
  readonly tab: TabNote;
  /** Its notes that can't be sounded there, as the tune has them; ascending integer MIDI numbers. */
  readonly lost: readonly number[];
}

/**
 * The chords of a tune where a candidate lays their melody: as much of each as one mouth can sound in that breath.
 * @returns one for each note; null for what is no chord, or not to be had
 */
export function chordsOf(
  tune: Tune,
  { harp, layout, laid }: Pick<Candidate, 'harp' | 'layout' | 'laid'>,
): (LaidChord | null)[] {
  if (!tune.notes.some(({ chord }) => chord !== undefined)) return tune.notes.map(() => null);
  const notes = playableNotes({ ...harp, temperament: 'equal', a4Hz: ISO_A4_HZ }, { layout });
  return tune.notes.map(({ midi, chord }, i): LaidChord | null => {
    const note = laid.choices[i]?.note;
    if (chord === undefined || note === undefined) return null;
    const { hole, breath, bend, over } = note;
    const shift = note.midi - midi;
    const way = chordAt(
      chord.map((each) => each + shift),
      note,
      notes,
    );
    const holes = way?.holes ?? [hole];
    return {
      tab: { hole, breath, bend, over, ...(holes.length > 1 ? { holes } : {}) },
      lost: way === undefined ? chord.slice(0, -1) : way.lost.map((each) => each - shift),
    };
  });
}
