import { CONTOUR_STEP_SEC } from '../../analysis/notes/events.ts';
import { median } from '../../statistics.ts';
import type { Fall, Scoop } from '../../tab/ornament.ts';

/** A slide is called one from here on, in cents: a third of a semitone and more is heard as another pitch, less as out of tune. */
const LEAST_SCOOP_CENTS = 35;
const LEAST_FALL_CENTS = 45;
/** The pitch has arrived, or has not left yet, when it is this near to the held one. */
const ARRIVED_CENTS = 15;
/** Still this far off at the quickest scoop's middle: a reed that speaks low is there sooner (22 ms time constant). */
const QUICKEST_SCOOP_SEC = 0.05;
const QUICKEST_FALL_SEC = 0.05;
const LONGEST_SEC = 0.45;
const MOST_CENTS = 500;
/** Moments that the beginning or the end is read from, and how soon the first must be heard. */
const END_MOMENTS = 3;
const SOONEST_MOMENTS = 6;

/** The way up into a note; null when there is none. @param cents every 10 ms against the held pitch, NaN where unknown */
export function findScoop(cents: readonly number[]): Scoop | null {
  const first = cents.findIndex((value) => !Number.isNaN(value));
  if (first < 0 || first > SOONEST_MOMENTS) return null;
  const start = median(cents.slice(first, first + END_MOMENTS).filter((value) => !Number.isNaN(value)));
  if (start > -LEAST_SCOOP_CENTS || start < -MOST_CENTS) return null;
  const arrived = cents.findIndex((value, i) => i > first && value >= -ARRIVED_CENTS);
  const durationSec = arrived * CONTOUR_STEP_SEC;
  if (arrived < 0 || durationSec < QUICKEST_SCOOP_SEC || durationSec > LONGEST_SEC) return null;
  return { kind: 'scoop', fromCents: Math.min(...known(cents.slice(first, arrived))), durationSec };
}

/** The way down off a note; null when there is none. @param cents as for `findScoop` */
export function findFall(cents: readonly number[]): Fall | null {
  const heard = cents.findLastIndex((value) => !Number.isNaN(value));
  if (heard < 0) return null;
  const end = median(known(cents.slice(Math.max(0, heard - END_MOMENTS + 1), heard + 1)));
  if (end > -LEAST_FALL_CENTS || end < -MOST_CENTS) return null;
  const left = cents.findLastIndex((value) => value >= -ARRIVED_CENTS);
  const durationSec = (cents.length - 1 - left) * CONTOUR_STEP_SEC;
  if (left < 0 || durationSec < QUICKEST_FALL_SEC || durationSec > LONGEST_SEC) return null;
  return { kind: 'fall', toCents: Math.min(...known(cents.slice(left))), durationSec };
}

const known = (values: readonly number[]): number[] => values.filter((value) => !Number.isNaN(value));
