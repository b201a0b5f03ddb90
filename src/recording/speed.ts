import { A4_MIDI, hzToMidi, ISO_A4_HZ } from '../units.ts';
import type { Detected } from './problem.ts';
import type { PlayedSpan, Sound } from './sound.ts';

/** With fewer notes than this, all could be bent or off pitch. */
const FEWEST_NOTES = 6;
/** Harps are tuned from 438 to 445 Hz, and breath lowers them a little: cents from A4 = 440 Hz (common practice). */
const USUAL_CENTS = [-20, 30] as const;
/** How well the notes must agree on where they lie between two semitones, [0, 1]. */
const LEAST_AGREEMENT = 0.6;

/** Finds recordings whose notes all lie off any usual tuning: converted or played back at the wrong rate. */
export function findWrongSpeed(sound: Sound): Detected | null {
  const { notes } = sound;
  if (notes.length < FEWEST_NOTES) return null;
  const { cents, agreement } = offsetOf(notes);
  if (agreement < LEAST_AGREEMENT || (cents >= USUAL_CENTS[0] && cents <= USUAL_CENTS[1])) return null;
  const percent = 100 * (2 ** (cents / 1200) - 1);
  return {
    kind: 'speed',
    severity: 'marked',
    places: [sound.all],
    how: `every note lies ${Math.round(Math.abs(cents))} cents ${cents > 0 ? 'above' : 'below'} the usual pitch, as at ${Math.abs(percent).toFixed(1)} % ${cents > 0 ? 'too fast' : 'too slow'}, or some semitones more`,
  };
}

/** Mean direction of the notes' places between semitones (circular mean), weighed by their length, and its length. */
function offsetOf(notes: readonly PlayedSpan[]): { cents: number; agreement: number } {
  let x = 0;
  let y = 0;
  let sum = 0;
  for (const { f0Hz, onsetSec, offsetSec } of notes) {
    const weight = Math.min(0.5, offsetSec - onsetSec);
    const turn = 2 * Math.PI * (hzToMidi(f0Hz, ISO_A4_HZ) - A4_MIDI);
    x += weight * Math.cos(turn);
    y += weight * Math.sin(turn);
    sum += weight;
  }
  return {
    cents: (100 * Math.atan2(y, x)) / (2 * Math.PI),
    agreement: sum === 0 ? 0 : Math.hypot(x, y) / sum,
  };
}
