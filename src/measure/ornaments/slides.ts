import { CONTOUR_STEP_SEC } from '../../analysis/notes/events.ts';
import { median } from '../../statistics.ts';
import type { Fall, Scoop } from '../../tab/ornament.ts';

/** Slides narrower than this are not reported, in cents: a third of a semitone is heard as another pitch, less as out of tune. */
const LEAST_SCOOP_CENTS = 35;
const LEAST_FALL_CENTS = 45;
/** The pitch has arrived, or has not left yet, while it is this close to the held one. */
const ARRIVED_CENTS = 15;
/** A reed that speaks low gets there sooner than the quickest scoop (time constant 22 ms). */
const QUICKEST_SCOOP_SEC = 0.04;
const QUICKEST_FALL_SEC = 0.05;
const LONGEST_SEC = 0.45;
const MOST_CENTS = 500;
/** A room keeps the pitch at which a fall ends for no longer than this; a bend may stay there. */
const LONGEST_REST_SEC = 0.3;
/** The lowest reeds of a sampled harmonica begin up to 77 cents low by themselves and need up to 17 turns of their pitch (measured). */
const OWN_CENTS = 80;
const OWN_TURNS = 17;
/** Moments from which the beginning or the end is read, and within which a scoop must begin; before it, the last note may still sound. */
const END_MOMENTS = 3;
const SOONEST_MOMENTS = 11;

/** The scoop into a note; null if there is none. @param cents  every 10 ms relative to the held pitch `f0Hz`, NaN where unknown */
export function findScoop(cents: readonly number[], f0Hz: number): Scoop | null {
  const begin = known(cents.slice(0, SOONEST_MOMENTS));
  if (begin.length === 0) return null;
  const lowest = Math.min(...begin);
  const first = cents.indexOf(lowest);
  const start = median(known(cents.slice(first, first + END_MOMENTS)));
  if (start > -LEAST_SCOOP_CENTS || start < -MOST_CENTS) return null;
  const arrived = cents.findIndex((value, i) => i > first && value >= -ARRIVED_CENTS);
  const durationSec = arrived * CONTOUR_STEP_SEC;
  const slideSec = (arrived - first) * CONTOUR_STEP_SEC;
  const ownSec = lowest < -OWN_CENTS ? 0 : OWN_TURNS / f0Hz;
  if (arrived < 0 || slideSec < Math.max(QUICKEST_SCOOP_SEC, ownSec) || durationSec > LONGEST_SEC)
    return null;
  return { kind: 'scoop', fromCents: lowest, durationSec };
}

/** The fall off a note; null if there is none. @param cents  as for `findScoop` */
export function findFall(cents: readonly number[]): Fall | null {
  const heard = cents.findLastIndex((value) => !Number.isNaN(value));
  if (heard < 0) return null;
  const end = median(known(cents.slice(Math.max(0, heard - END_MOMENTS + 1), heard + 1)));
  if (end > -LEAST_FALL_CENTS || end < -MOST_CENTS) return null;
  const left = cents.findLastIndex((value) => value >= -ARRIVED_CENTS);
  const durationSec = (cents.length - 1 - left) * CONTOUR_STEP_SEC;
  const arrived = cents.findIndex((value, i) => i > left && value <= end + ARRIVED_CENTS);
  const slideSec = (arrived - left) * CONTOUR_STEP_SEC;
  if (left < 0 || durationSec < QUICKEST_FALL_SEC || slideSec > LONGEST_SEC) return null;
  if (durationSec - slideSec > LONGEST_REST_SEC) return null;
  return { kind: 'fall', toCents: Math.min(...known(cents.slice(left))), durationSec };
}

const known = (values: readonly number[]): number[] => values.filter((value) => !Number.isNaN(value));
