import { chordAt } from '../harp/chords.ts';
import type { TabNote } from '../tab/tab-note.ts';
import type { Candidate } from './arrange.ts';
import type { Tune } from './tune.ts';

/** A chord of a tune on the holes around its melody note. */
export interface LaidChord {
  readonly tab: TabNote;
  /** The notes that can't be played with it, as written in the tune; ascending integer MIDI numbers. */
  readonly lost: readonly number[];
}

/**
 * The chords of a tune around the melody of an arrangement: as many notes of each as one mouth can sound in that
 * breath.
 * @returns one for each note; null where there is no chord, or it can't be played
 */
export function chordsOf(tune: Tune, { laid }: Pick<Candidate, 'laid'>): (LaidChord | null)[] {
  if (!tune.notes.some(({ chord }) => chord !== undefined)) return tune.notes.map(() => null);
  return tune.notes.map(({ midi, chord }, i): LaidChord | null => {
    const choice = laid.choices[i] ?? null;
    if (chord === undefined || choice === null) return null;
    const { note, harp } = choice;
    const { hole, breath, bend, over } = note;
    const shift = note.midi - midi;
    const way = chordAt(
      chord.map((each) => each + shift),
      note,
      harp,
    );
    const holes = way?.holes ?? [hole];
    return {
      tab: {
        hole,
        breath,
        bend,
        over,
        ...(holes.length > 1 ? { holes } : {}),
        ...(way?.bends === undefined ? {} : { holeBends: way.bends }),
      },
      lost: way === undefined ? chord.slice(0, -1) : way.lost.map((each) => each - shift),
    };
  });
}
