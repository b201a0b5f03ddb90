import { CONTOUR_STEP_SEC } from '../analysis/notes/events.ts';
import type { PitchPoint } from './held.ts';

/** A wave in the pitch. */
export interface Vibrato {
  readonly hz: number;
  /** From the middle to the peak. */
  readonly cents: number;
}

/** Rates that hands and throats produce (Desain, Honing, Aarts and Timmers, 1999: 4 to 8 Hz; slow hands a little less). */
const SLOWEST_HZ = 3;
const FASTEST_HZ = 9;
const STEP_HZ = 0.1;
/** At least this many waves must be heard. */
const FEWEST_WAVES = 1.5;
/** A wave must explain this share of the movement, and be wider than the movement of a straight note. */
const LEAST_SHARE = 0.55;
const LEAST_CENTS = 4;
/** This share of a note, at its start, is where vibrato is still growing. */
const EARLY_SHARE = 0.4;

/**
 * The sine that explains most of a pitch's movement around its trend line, by least squares over rates from 3 to 9 Hz.
 * @param around  cents around the line, one per moment
 * @returns the vibrato, or null if there is none or too little of it; and the movement that remains
 */
export function findVibrato(
  points: readonly PitchPoint[],
  around: readonly number[],
): { vibrato: Vibrato | null; rest: readonly number[] } {
  const lengthSec = points.length * CONTOUR_STEP_SEC;
  const power = around.reduce((sum, value) => sum + value * value, 0);
  const slowestHz = Math.max(SLOWEST_HZ, FEWEST_WAVES / lengthSec);
  const wave = new Wave(points, slowestHz);
  let best: (SineFit & { hz: number }) | null = null;
  for (let hz = slowestHz; hz <= FASTEST_HZ; hz += STEP_HZ, wave.raise()) {
    const fit = wave.fit(around);
    if (best === null || fit.explained > best.explained) best = { hz, ...fit };
  }
  if (best === null || best.explained < LEAST_SHARE * power) return { vibrato: null, rest: around };
  const { hz, a, b } = best;
  // Vibrato grows, so its depth is measured in the later part.
  const from = Math.floor(EARLY_SHARE * points.length);
  const late = new Wave(points.slice(from), hz).fit(around.slice(from));
  const cents = Math.max(Math.hypot(a, b), Math.hypot(late.a, late.b));
  if (cents < LEAST_CENTS) return { vibrato: null, rest: around };
  const turn = 2 * Math.PI * hz;
  const rest = around.map(
    (value, i) => value - a * Math.cos(turn * points[i].sec) - b * Math.sin(turn * points[i].sec),
  );
  return { vibrato: { hz, cents }, rest };
}

/** A cosine and a sine fitted by least squares; `explained` is the power that they account for. */
interface SineFit {
  readonly a: number;
  readonly b: number;
  readonly explained: number;
}

/** A cosine and a sine at given moments; raising the rate step by step is quicker than computing them afresh. */
class Wave {
  readonly #cos: Float64Array;
  readonly #sin: Float64Array;
  /** The rotation of each that raises the rate. */
  readonly #cosOfStep: Float64Array;
  readonly #sinOfStep: Float64Array;

  constructor(points: readonly PitchPoint[], hz: number) {
    this.#cos = new Float64Array(points.length);
    this.#sin = new Float64Array(points.length);
    this.#cosOfStep = new Float64Array(points.length);
    this.#sinOfStep = new Float64Array(points.length);
    for (let i = 0; i < points.length; i++) {
      const phase = 2 * Math.PI * hz * points[i].sec;
      const step = 2 * Math.PI * STEP_HZ * points[i].sec;
      this.#cos[i] = Math.cos(phase);
      this.#sin[i] = Math.sin(phase);
      this.#cosOfStep[i] = Math.cos(step);
      this.#sinOfStep[i] = Math.sin(step);
    }
  }

  /** Raises the rate by `STEP_HZ`. */
  raise(): void {
    const [cos, sin, cosOfStep, sinOfStep] = [this.#cos, this.#sin, this.#cosOfStep, this.#sinOfStep];
    for (let i = 0; i < cos.length; i++) {
      const turned = cos[i] * cosOfStep[i] - sin[i] * sinOfStep[i];
      sin[i] = cos[i] * sinOfStep[i] + sin[i] * cosOfStep[i];
      cos[i] = turned;
    }
  }

  fit(around: readonly number[]): SineFit {
    const [cos, sin] = [this.#cos, this.#sin];
    let cc = 0;
    let ss = 0;
    let cs = 0;
    let cx = 0;
    let sx = 0;
    for (let i = 0; i < around.length; i++) {
      cc += cos[i] * cos[i];
      ss += sin[i] * sin[i];
      cs += cos[i] * sin[i];
      cx += cos[i] * around[i];
      sx += sin[i] * around[i];
    }
    const determinant = cc * ss - cs * cs;
    if (determinant < 1e-9) return { a: 0, b: 0, explained: 0 };
    const a = (cx * ss - sx * cs) / determinant;
    const b = (sx * cc - cx * cs) / determinant;
    return { a, b, explained: a * cx + b * sx };
  }
}
