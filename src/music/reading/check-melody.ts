import { LIMITS, type LimitName, tooLarge } from '../../limits.ts';
import { plainText, shortened } from '../../plain-text.ts';
import type { Melody, MelodyNote } from '../melody.ts';
import { musicError } from './fault.ts';

const HIGHEST_MIDI = 127;
/** Nobody reads more remarks than this. */
const MOST_REMARKS = 20;
/** Tempos and metres beyond these are typing errors. */
const FASTEST_BPM = 2_000;
const LARGEST_COUNT = 64;
const UNITS: readonly number[] = [1, 2, 4, 8, 16, 32, 64];

/**
 * Checks the melody that a reader has read: sizes within the limits, notes that sound and can be written, and texts without
 * control sequences for a terminal.
 * @throws ReedtraceError E_MUSIC_INVALID if there are no notes, or an invalid one; E_TOO_LARGE
 */
export function checkedMelody(melody: Melody, name: string): Melody {
  const { notes, title, beatsPerMinute, metre, remarks } = melody;
  const limit = (which: LimitName, value: number): void => {
    if (value > LIMITS[which].most) throw tooLarge(name, 'has', which, value, 'give one tune only');
  };
  if (notes.length === 0) throw musicError(name, 'has no notes', 'give a file with a melody');
  limit('notes', notes.length);
  for (const note of notes) checkNote(note, name);
  const last = notes[notes.length - 1];
  limit('beats', last.onsetBeats + last.durationBeats);
  const plainTitle = title === null ? '' : shortened(plainText(title).trim(), LIMITS.textLength.most);
  const isTempo = beatsPerMinute !== null && beatsPerMinute > 0 && beatsPerMinute <= FASTEST_BPM;
  const isMetre =
    metre !== null && metre.count >= 1 && metre.count <= LARGEST_COUNT && UNITS.includes(metre.unit);
  return {
    ...melody,
    notes: notes.map(plainNote),
    title: plainTitle === '' ? null : plainTitle,
    beatsPerMinute: isTempo ? beatsPerMinute : null,
    metre: isMetre ? metre : null,
    remarks: fewRemarks(remarks),
  };
}

function checkNote({ midi, chord = [midi], onsetBeats, durationBeats }: MelodyNote, name: string): void {
  const beyond = chord.find((each) => !(Number.isInteger(each) && each >= 0 && each <= HIGHEST_MIDI));
  if (beyond !== undefined) {
    throw musicError(
      name,
      `has a note outside the range of any instrument (MIDI number ${beyond})`,
      'export it again',
    );
  }
  if (!(onsetBeats >= 0 && durationBeats > 0 && Number.isFinite(onsetBeats + durationBeats))) {
    throw musicError(name, 'has a note without a length', 'export it again');
  }
}

function plainNote(note: MelodyNote): MelodyNote {
  if (note.word === undefined) return note;
  const { word, ...rest } = note;
  const plain = shortened(plainText(word).trim(), LIMITS.textLength.most);
  return plain === '' ? rest : { ...rest, word: plain };
}

function fewRemarks(remarks: readonly string[]): readonly string[] {
  if (remarks.length <= MOST_REMARKS) return remarks;
  return [...remarks.slice(0, MOST_REMARKS), `and ${remarks.length - MOST_REMARKS} more such remarks`];
}
