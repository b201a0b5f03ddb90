import { CONTOUR_STEP_SEC, type SoundEvent } from '../analysis/events.ts';
import { quantile } from '../analysis/own-level.ts';
import type { NoteIntonation } from '../tab/note.ts';

/** A note whose held part is shorter than this can't be judged. */
const SHORTEST_HELD_SEC = 0.08;
/** The pitch has arrived once it stays within this of the held pitch, in cents. */
const ARRIVED_CENTS = 20;
/** Arriving is looked for in the first part of a note only. */
const LONGEST_SCOOP_SEC = 0.4;

/**
 * How steadily a note was held, from its pitch contour: straight line through the held part by least squares, spread
 * around it (half the range of the middle 68 %, robust against single frames), and the way there.
 * @returns null when the held part is shorter than 80 ms or could not be measured
 */
export function measureIntonation(event: SoundEvent): NoteIntonation | null {
  const [heldFrom, heldTo] = event.heldSec;
  if (heldTo - heldFrom < SHORTEST_HELD_SEC) return null;
  const held: { sec: number; cents: number }[] = [];
  event.contourMidi.forEach((midi, i) => {
    const sec = event.onsetSec + (i + 0.5) * CONTOUR_STEP_SEC;
    if (!Number.isNaN(midi) && sec >= heldFrom && sec <= heldTo)
      held.push({ sec, cents: 100 * (midi - event.midi) });
  });
  if (held.length < 6) return null;
  const slope = slopeOf(held);
  const meanSec = held.reduce((sum, { sec }) => sum + sec, 0) / held.length;
  const around = held.map(({ sec, cents }) => cents - slope * (sec - meanSec));
  const { scoopCents, scoopSec } = measureScoop(event);
  return {
    steadinessCents: (quantile(around, 0.84) - quantile(around, 0.16)) / 2,
    driftCentsPerSec: slope,
    scoopCents,
    scoopSec,
  };
}

function slopeOf(points: readonly { sec: number; cents: number }[]): number {
  const n = points.length;
  const meanSec = points.reduce((sum, { sec }) => sum + sec, 0) / n;
  const meanCents = points.reduce((sum, { cents }) => sum + cents, 0) / n;
  let product = 0;
  let square = 0;
  for (const { sec, cents } of points) {
    product += (sec - meanSec) * (cents - meanCents);
    square += (sec - meanSec) ** 2;
  }
  return square > 0 ? product / square : 0;
}

function measureScoop(event: SoundEvent): { scoopCents: number; scoopSec: number } {
  const steps = Math.min(event.contourMidi.length, Math.round(LONGEST_SCOOP_SEC / CONTOUR_STEP_SEC));
  let start = Number.NaN;
  let arrived = 0;
  for (let i = 0; i < steps; i++) {
    const cents = 100 * (event.contourMidi[i] - event.midi);
    if (Number.isNaN(cents)) continue;
    if (Number.isNaN(start)) start = cents;
    if (Math.abs(cents) > ARRIVED_CENTS) arrived = i + 1;
    else if (i - arrived >= 4) break;
  }
  return { scoopCents: Number.isNaN(start) ? 0 : start, scoopSec: arrived * CONTOUR_STEP_SEC };
}
