import { CONTOUR_STEP_SEC, type SoundEvent } from '../analysis/notes/events.ts';
import { median, quantile } from '../statistics.ts';

/** One measured moment of a note. */
export interface PitchPoint {
  /** Seconds from the note's onset. */
  readonly sec: number;
  readonly midi: number;
}

/** A note's pitch divided into the approach, the held part and what comes after it. */
export interface HeldPitch {
  /** All moments that could be measured. */
  readonly points: readonly PitchPoint[];
  /** Those of the held part; at least one. */
  readonly held: readonly PitchPoint[];
  /** Mean of the held part, real-valued MIDI (A4 = 440 Hz). */
  readonly midi: number;
  /** Seconds from the onset until the pitch settles on the held part, ≥ 0. */
  readonly settleSec: number;
}

/** The pitch has arrived when it is this near the middle of the note, in cents; further away counts where the note itself swings more. */
const ARRIVED_CENTS = 15;
const SWING_ROOM = 1.3;
/** Share of the event's held part, in its middle, that shows the pitch aimed at. */
const MIDDLE_SHARE = 0.5;
/** The held part is at least this share of what the event calls held. */
const LEAST_SHARE = 0.35;
/** Moments in a row that must be near the aim before the pitch counts as arrived. */
const STAYS = 3;
/** A moment further than this from the aim was misheard. */
const MISHEARD_CENTS = 150;

/**
 * Finds the held part of a note from its pitch: the way up to it (scoop, glide) and the turn towards the next note
 * are left out, just as one reads a tuner's needle once it has come to rest.
 * @returns null when no moment of the note could be measured
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

/** Place of the first moment, from the front or the back, from which some are near the aim without a break. */
function firstStay(near: readonly boolean[], step: 1 | -1): number {
  const start = step === 1 ? 0 : near.length - 1;
  for (let i = start; i >= 0 && i < near.length; i += step) {
    let stays = true;
    for (let k = 0; k < STAYS; k++) stays &&= near[i + k * step] ?? true;
    if (stays) return i;
  }
  return start;
}
