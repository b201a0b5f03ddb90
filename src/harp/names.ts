import { Note } from 'tonal';
import { KEY_NAMES } from './keys.ts';

/** Semitones above a keynote as intervals, spelled as players spell them: the tritone is a raised fourth. */
const INTERVALS = ['1P', '2m', '2M', '3m', '3M', '4P', '4A', '5P', '6m', '6M', '7m', '7M'];
const DEGREES = ['1', 'b2', '2', 'b3', '3', '4', '#4', '5', 'b6', '6', 'b7', '7'];

/**
 * Name of a note with its octave (middle C = C4), spelled in the key of `tonic`; names that would need a double
 * accidental or an altered white key (`Fb`, `E#`) are replaced by simpler ones.
 * @param midi  integer MIDI number
 * @param tonic  pitch class of the keynote, 0 = C … 11 = B
 */
export function noteName(midi: number, tonic: number): string {
  const above = (((midi - tonic) % 12) + 12) % 12;
  const keynote = Note.fromMidi(midi - above);
  const spelled = `${KEY_NAMES[tonic]}${Note.octave(keynote)}`;
  const name = Note.transpose(spelled, INTERVALS[above]);
  return /^(.##|.bb|[EB]#|[CF]b)/.test(name) ? Note.simplify(name) : name;
}

/** Degree of a note in the scale on `tonic`: `1`, `b3`, `#4`, `b7`. */
export function scaleDegree(midi: number, tonic: number): string {
  return DEGREES[(((midi - tonic) % 12) + 12) % 12];
}
