import type { WrittenNote } from './verses.ts';

/** A note as it is in the file; may overlap others. */
export interface RawNote {
  readonly midi: number;
  readonly onsetBeats: number;
  readonly durationBeats: number;
  readonly word?: string | undefined;
  /** As in `WrittenNote`. */
  readonly laterWords?: WrittenNote['laterWords'];
  /** All pitches of what was written as one chord, ascending; `midi` is the highest. */
  readonly chord?: readonly number[] | undefined;
}

/** Onsets closer than this form a chord: far less than the shortest written note, but more than the rounding of ticks. */
const CHORD_BEATS = 1 / 64;
/** A chord that is rolled, by fingers or a program, is spread by less than this at either end; successive notes don't overlap. */
const ROLLED_BEATS = 1 / 16;
const RELEASED_BEATS = 1 / 8;
/**
 * No mouth covers more holes than this, and the lowest five of a Richter harp span so many semitones: a larger chord was
 * written for another instrument.
 */
const MOST_AT_ONCE = 5;
const WIDEST_CHORD = 16;

/**
 * Reduces notes that may overlap to one voice. Notes that begin and end together become a chord under the highest; of others
 * that begin together only the highest stays; and a note ends where the next one begins.
 * @returns the voice in time order, and how many notes were left out
 */
export function oneVoice(raw: readonly RawNote[]): { notes: WrittenNote[]; dropped: number } {
  const sorted = raw
    .filter((note) => note.durationBeats > 0)
    .sort((a, b) => a.onsetBeats - b.onsetBeats || b.midi - a.midi);
  const together: RawNote[][] = [];
  for (const note of sorted) {
    const last = together[together.length - 1];
    if (last && beginTogether(last[0], note)) last.push(note);
    else together.push([note]);
  }
  let dropped = 0;
  const kept = together.map((notes): RawNote => {
    const top = notes.reduce((highest, note) => (note.midi > highest.midi ? note : highest));
    const chord = chordOf(notes, top);
    if (chord === null) dropped += notes.reduce((sum, note) => sum + (note.chord?.length ?? 1), -1);
    const { word, laterWords } =
      notes.find((note) => note.word !== undefined && top.word === undefined) ?? top;
    return { ...top, onsetBeats: notes[0].onsetBeats, word, laterWords, chord: chord ?? undefined };
  });
  const notes = kept.map(({ midi, onsetBeats, durationBeats, word, laterWords, chord }, i): WrittenNote => {
    const next = kept[i + 1];
    const room = next ? next.onsetBeats - onsetBeats : Number.POSITIVE_INFINITY;
    return {
      midi,
      onsetBeats,
      durationBeats: Math.min(durationBeats, room),
      ...(word === undefined || word === '' ? {} : { word }),
      ...(laterWords === undefined ? {} : { laterWords }),
      ...(chord === undefined ? {} : { chord }),
    };
  });
  return { notes, dropped };
}

function beginTogether(first: RawNote, note: RawNote): boolean {
  const afterBeats = note.onsetBeats - first.onsetBeats;
  if (afterBeats < CHORD_BEATS) return true;
  return afterBeats < ROLLED_BEATS && first.durationBeats - afterBeats > first.durationBeats / 2;
}

/** The pitches of notes that begin together, if they also end together and one mouth can cover them; otherwise null. */
function chordOf(notes: readonly RawNote[], top: RawNote): readonly number[] | null {
  const midis = [...new Set(notes.flatMap(({ midi, chord = [midi] }) => chord))].sort((a, b) => a - b);
  const endOf = ({ onsetBeats, durationBeats }: RawNote): number => onsetBeats + durationBeats;
  const alike = notes.every((note) => Math.abs(endOf(note) - endOf(top)) < RELEASED_BEATS);
  const fitsMouth = midis.length <= MOST_AT_ONCE && midis[midis.length - 1] - midis[0] <= WIDEST_CHORD;
  return alike && midis.length > 1 && fitsMouth ? midis : null;
}

/** The remark on notes that were left out, if any. */
export function droppedRemark(dropped: number): string[] {
  return dropped === 0
    ? []
    : [`${dropped} ${dropped === 1 ? 'note' : 'notes'} sounding under a higher one left out`];
}
