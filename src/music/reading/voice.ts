import type { MelodyNote } from '../melody.ts';

/** A note as a file gives it; may overlap others. */
export interface RawNote {
  readonly midi: number;
  readonly onsetBeats: number;
  readonly durationBeats: number;
  readonly word?: string | undefined;
}

/** Onsets closer than this are one chord: well under the shortest written note, above the rounding of ticks. */
const CHORD_BEATS = 1 / 64;

/**
 * One voice out of notes that may overlap: of notes that begin together the highest stays, and a note ends where
 * the next begins.
 * @returns the voice in time order, and how many notes were left out
 */
export function oneVoice(raw: readonly RawNote[]): { notes: MelodyNote[]; dropped: number } {
  const sorted = raw
    .filter((note) => note.durationBeats > 0)
    .sort((a, b) => a.onsetBeats - b.onsetBeats || b.midi - a.midi);
  const kept: RawNote[] = [];
  for (const note of sorted) {
    const last = kept[kept.length - 1];
    if (last && note.onsetBeats - last.onsetBeats < CHORD_BEATS) {
      if (note.midi > last.midi) {
        kept[kept.length - 1] = { ...note, onsetBeats: last.onsetBeats, word: note.word ?? last.word };
      }
      continue;
    }
    kept.push(note);
  }
  const notes = kept.map(({ midi, onsetBeats, durationBeats, word }, i): MelodyNote => {
    const next = kept[i + 1];
    const room = next ? next.onsetBeats - onsetBeats : Number.POSITIVE_INFINITY;
    return {
      midi,
      onsetBeats,
      durationBeats: Math.min(durationBeats, room),
      ...(word === undefined || word === '' ? {} : { word }),
    };
  });
  return { notes, dropped: sorted.length - kept.length };
}

/** Remark on notes that were left out, or none. */
export function droppedRemark(dropped: number): string[] {
  return dropped === 0
    ? []
    : [`${dropped} ${dropped === 1 ? 'note' : 'notes'} sounding under a higher one left out`];
}
