import { CONTOUR_STEP_SEC } from '../analysis/events.ts';
import type { PitchPoint } from './held.ts';

/** A wave on the pitch. */
export interface Vibrato {
  readonly hz: number;
  /** From the middle to the peak. */
  readonly cents: number;
}

/** Rates that hands and throats give (Desain, Honing, Aarts and Timmers, 1999: 4 to 8 Hz; slow hands a little less). */
const SLOWEST_HZ = 3;
const FASTEST_HZ = 9;
const STEP_HZ = 0.1;
/** At least this many waves must be heard. */
const FEWEST_WAVES = 1.5;
/** A wave must explain this share of the movement, and be wider than what a straight note moves by. */
const LEAST_SHARE = 0.55;
const LEAST_CENTS = 4;
/** The part of a note in which vibrato is still growing. */
const EARLY_SHARE = 0.4;

/**
 * The sine that explains most of a pitch's movement around its line, by least squares over rates from 3 to 9 Hz.
 * @param around cents around the line, one a moment
 * @returns the vibrato, or null when there is none or too little is heard of it; and what is left of the movement
 */
export function findVibrato(
  points: readonly PitchPoint[],
  around: readonly number[],
): { vibrato: Vibrato | null; rest: readonly number[] } {
  const lengthSec = points.length * CONTOUR_STEP_SEC;
  const power = around.reduce((sum, value) => sum + value * value, 0);
  let best: { hz: number; a: number; b: number; explained: number } | null = null;
  for (let hz = Math.max(SLOWEST_HZ, FEWEST_WAVES / lengthSec); hz <= FASTEST_HZ; hz += STEP_HZ) {
    const fit = fitSine(points, around, hz);
    if (best === null || fit.explained > best.explained) best = { hz, ...fit };
  }
  if (best === null || best.explained < LEAST_SHARE * power) return { vibrato: null, rest: around };
  const { hz, a, b } = best;
  // Vibrato grows: its extent is that of the later part.
  const from = Math.floor(EARLY_SHARE * points.length);
  const late = fitSine(points.slice(from), around.slice(from), hz);
  const cents = Math.max(Math.hypot(a, b), Math.hypot(late.a, late.b));
  if (cents < LEAST_CENTS) return { vibrato: null, rest: around };
  const turn = 2 * Math.PI * hz;
  const rest = around.map(
    (value, i) => value - a * Math.cos(turn * points[i].sec) - b * Math.sin(turn * points[i].sec),
  );
  return { vibrato: { hz, cents }, rest };
}

/** Least squares of a cosine and a sine of one rate; `explained` is the power that they take away. */
function fitSine(
  points: readonly PitchPoint[],
  around: readonly number[],
  hz: number,
): { a: number; b: number; explained: number } {
  let cc = 0;
  let ss = 0;
  let cs = 0;
  let cx = 0;
  let sx = 0;
  for (let i = 0; i < around.length; i++) {
    const phase = 2 * Math.PI * hz * points[i].sec;
    const cos = Math.cos(phase);
    const sin = Math.sin(phase);
    cc += cos * cos;
    ss += sin * sin;
    cs += cos * sin;
    cx += cos * around[i];
    sx += sin * around[i];
  }
  const determinant = cc * ss - cs * cs;
  if (determinant < 1e-9) return { a: 0, b: 0, explained: 0 };
  const a = (cx * ss - sx * cs) / determinant;
  const b = (sx * cc - cx * cs) / determinant;
  return { a, b, explained: a * cx + b * sx };
}
