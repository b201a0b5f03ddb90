import { CONTOUR_STEP_SEC, type SoundEvent } from '../../analysis/notes/events.ts';
import { FinePitchMeter } from '../../analysis/pitch/fine-pitch.ts';
import type { Samples } from '../../audio/samples.ts';
import { findHeld } from '../../measure/held.ts';
import { BandMeter } from '../../measure/ornaments/bands.ts';
import { findOrnaments } from '../../measure/ornaments/ornaments.ts';
import { withTail } from '../../measure/ornaments/tail.ts';
import type { Note } from '../../tab/note.ts';
import type { NoteOrnament } from '../../tab/ornament.ts';

/** The most that the pitch moves from one frame to the next, and from the note's own, in semitones. */
const STEP_SEMITONES = 1;
const REACH_SEMITONES = 3.4;
/** Share of a note at each end in which the pitch may slide in or off. */
const EDGE_SHARE = 0.2;

/** Ornaments of a note in order of time, heard in the recording whatever hole is written; usually empty. */
export function heardOrnaments(samples: Samples, note: Note): readonly NoteOrnament[] {
  const meter = new FinePitchMeter(samples);
  const event = eventOf(meter, note);
  const pitch = findHeld(event);
  if (pitch === null) return [];
  const bands = new BandMeter(samples).measure(event);
  return findOrnaments(event, undefined, pitch, bands, withTail(meter, event, undefined, pitch.midi));
}

function eventOf(meter: FinePitchMeter, { onsetSec, offsetSec, midi, f0Hz, levelDb, harmonicityDb }: Note) {
  const count = Math.max(1, Math.floor((offsetSec - onsetSec) / CONTOUR_STEP_SEC));
  const contourMidi = new Float32Array(count).fill(Number.NaN);
  const follow = (from: number, to: number, by: number): void => {
    let near = midi;
    for (let i = from; i !== to; i += by) {
      const heard = meter.measure(onsetSec + (i + 0.5) * CONTOUR_STEP_SEC, near);
      if (heard === null || Math.abs(heard.midi - near) > STEP_SEMITONES) continue;
      if (Math.abs(heard.midi - midi) > REACH_SEMITONES) continue;
      near = heard.midi;
      contourMidi[i] = near;
    }
  };
  // From the middle to both ends, so that slides are followed from a known pitch.
  follow(count >> 1, count, 1);
  follow((count >> 1) - 1, -1, -1);
  const edgeSec = EDGE_SHARE * (offsetSec - onsetSec);
  return {
    onsetSec,
    offsetSec,
    start: 'silence',
    midi,
    f0Hz,
    expectedMidi: midi,
    contourMidi,
    heldSec: [onsetSec + edgeSec, offsetSec - edgeSec],
    levelDb,
    harmonicityDb,
    dipDb: 0,
    strength: 1,
    partialsDb: new Float32Array(0),
    soundingNats: 0,
    onsetNats: 0,
  } satisfies SoundEvent;
}
