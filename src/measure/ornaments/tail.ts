import { CONTOUR_STEP_SEC, type SoundEvent } from '../../analysis/notes/events.ts';
import type { FinePitchMeter } from '../../analysis/pitch/fine-pitch.ts';

/** A pitch that is falling at the end of a note is followed for this long. */
const LONGEST_SEC = 0.3;
/** It is falling if it is this far below the note's pitch, in semitones. */
const ON_ITS_WAY = 0.1;
/** From one moment to the next it falls by less than this, and hardly rises. */
const STEP_DOWN = 0.35;
const STEP_UP = 0.08;
const LEAST_HARMONICITY_DB = 2;
/** Moments at the end of a note that show whether it is falling. */
const END_MOMENTS = 4;

/** The pitch of a note and of what follows its end, every 10 ms: a fall becomes too soft to count as a note before it is over. */
export function withTail(
  meter: FinePitchMeter,
  event: SoundEvent,
  next: SoundEvent | undefined,
  heldMidi: number,
): Float32Array {
  const { contourMidi, onsetSec } = event;
  const ending = contourMidi.slice(-END_MOMENTS).filter((midi) => !Number.isNaN(midi));
  let last = ending.at(-1);
  if (last === undefined || last > heldMidi - ON_ITS_WAY) return contourMidi;
  const untilSec = Math.min(
    event.offsetSec + LONGEST_SEC,
    (next?.onsetSec ?? Number.POSITIVE_INFINITY) - CONTOUR_STEP_SEC,
  );
  const tail: number[] = [];
  for (let i = contourMidi.length; onsetSec + (i + 0.5) * CONTOUR_STEP_SEC < untilSec; i++) {
    const heard = meter.measure(onsetSec + (i + 0.5) * CONTOUR_STEP_SEC, last);
    if (heard === null || heard.harmonicityDb < LEAST_HARMONICITY_DB) break;
    if (heard.midi > last + STEP_UP || heard.midi < last - STEP_DOWN) break;
    last = heard.midi;
    tail.push(last);
  }
  return tail.length === 0 ? contourMidi : Float32Array.from([...contourMidi, ...tail]);
}
