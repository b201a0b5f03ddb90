import { CONTOUR_STEP_SEC, type SoundEvent } from '../analysis/notes/events.ts';
import { median, quantile } from '../statistics.ts';

/** The pitch of a note at one moment. */
export interface PitchPoint {
  /** Seconds from the note's onset. */
  readonly sec: number;
  readonly midi: number;
}

/** A note's pitch, divided into the approach, the held part and what follows it. */
export interface HeldPitch {
  /** Every moment that could be measured. */
  readonly points: readonly PitchPoint[];
  /** The moments of the held part; at least one. */
  readonly held: readonly PitchPoint[];
  /** Mean of the held part, real-valued MIDI (A4 = 440 Hz). */
  readonly midi: number;
  /** Seconds from the onset until the pitch settles on the held part, ≥ 0. */
  readonly settleSec: number;
}

/** The pitch has arrived when it is this close to the middle of the note, in cents; more is allowed if the note itself swings more. */
const ARRIVED_CENTS = 15;
const SWING_ROOM = 1.3;
/** The middle of the event's held part, this share of it, shows the pitch that the player aimed at. */
const MIDDLE_SHARE = 0.5;
/** The result is at least this share of the event's held part. */
const LEAST_SHARE = 0.35;
/** This many consecutive moments must be close to the aim before the pitch has arrived. */
const STAYS = 3;
/** A moment further than this from the aim was misheard. */
const MISHEARD_CENTS = 150;

/**
 * Finds the held part of a note from its pitch, without the approach (scoop, glide) and the turn towards the next note, just
 * as one reads a tuner once its needle has come to rest.
 * @returns null if no moment of the note could be measured
 */
export function findHeld(event: SoundEvent): HeldPitch | null {
  const points: PitchPoint[] = [];
  event.contourMidi.forEach((midi, i) => {
    if (!Number.isNaN(midi)) points.push({ sec: (i + 0.5) * CONTOUR_STEP_SEC, midi });
  });
  if (points.length === 0) return null;
  const from = event.heldSec[0] - event.onsetSec;
  const to = event.heldSec[1] - event.onsetSec;
  const margin = ((1 - MIDDLE_SHARE) / 2) * (to - from);
  const middle = points.filter(({ sec }) => sec >= from + margin && sec <= to - margin);
  const known = (middle.length > 0 ? middle : points).map(({ midi }) => midi);
  const aim = median(known);
  const swing = (quantile(known, 0.95) - quantile(known, 0.05)) / 2;
  const reach = Math.max(ARRIVED_CENTS / 100, SWING_ROOM * swing);
  const near = points.map(({ midi }) => Math.abs(midi - aim) <= reach);
  const first = firstStay(near, 1);
  const last = firstStay(near, -1);
  const settleSec = first > 0 ? points[first].sec - CONTOUR_STEP_SEC / 2 : 0;
  const least = LEAST_SHARE * (to - from);
  const begin = Math.max(from, Math.min(settleSec, to - least));
  const end = Math.min(to, Math.max(points[last].sec + CONTOUR_STEP_SEC / 2, begin + least));
  const within = points.filter(
    ({ sec, midi }) => sec >= begin && sec <= end && Math.abs(midi - aim) <= MISHEARD_CENTS / 100,
  );
  const held = within.length > 0 ? within : points;
  return { points, held, midi: held.reduce((sum, { midi }) => sum + midi, 0) / held.length, settleSec };
}

/** Index of the first moment, from the front or the back, that begins a run of moments close to the aim. */
function firstStay(near: readonly boolean[], step: 1 | -1): number {
  const start = step === 1 ? 0 : near.length - 1;
  for (let i = start; i >= 0 && i < near.length; i += step) {
    let stays = true;
    for (let k = 0; k < STAYS; k++) stays &&= near[i + k * step] ?? true;
    if (stays) return i;
  }
  return start;
}
