import { median } from '../../statistics.ts';
import type { HeldSpectrum } from './held-spectrum.ts';

/** Half the main lobe of a Hann window, in units of 1 / length, with a small margin. */
export const LOBE = 2.2;
/** The bins below are hum and the foot of the window. */
const FIRST_BIN = 2;
/** A noise floor needs at least this many bins. */
const FEWEST_BINS = 4;
/** How far from a place its noise floor is measured, at most. */
export const FLOOR_SIDE_HZ = 250;
/** Noise floors are kept for at most this many half partials beyond the note's last. */
const FLOORS_BEYOND = 8;

/** The noise around the partials and half partials of a note, each measured when it is first asked for. */
export class NoiseFloors {
  readonly #held: HeldSpectrum;
  #mainHz = 0;
  /** By place; 0 if not measured yet, -1 if there is none. */
  #floors = new Float64Array(0);
  /** Powers of which a median is taken. A list for each place was a twentieth of all memory that is taken and freed. [measured] */
  #values = new Float64Array(0);

  constructor(held: HeldSpectrum) {
    this.#held = held;
  }

  /** Begins with the note that `held` has just measured, of which this many partials are looked at. */
  begin(mainHz: number, partials: number): void {
    this.#mainHz = mainHz;
    this.#floors = new Float64Array(2 * partials + FLOORS_BEYOND);
  }

  /** The place of a frequency: twice the number of the nearest partial or half partial. */
  placeOf(hz: number): number {
    return Math.max(1, Math.round((2 * hz) / this.#mainHz));
  }

  /** Median power around a place, without the lobes of the note's own partials; null if too few bins are left. */
  around(place: number): number | null {
    const known = this.#floors[place];
    if (known > 0) return known;
    if (known < 0) return null;
    const floor = this.#measure(place);
    this.#floors[place] = floor ?? -1;
    return floor;
  }

  #measure(place: number): number | null {
    const { mean, binHz, windowSec } = this.#held;
    const mainHz = this.#mainHz;
    const centre = place / 2;
    const side = Math.min(0.75 * mainHz, FLOOR_SIDE_HZ) / binHz;
    const middle = (centre * mainHz) / binHz;
    const from = Math.max(FIRST_BIN, Math.floor(middle - side));
    const to = Math.min(mean.length - 1, Math.ceil(middle + side));
    if (this.#values.length <= to - from) this.#values = new Float64Array(2 * (to - from + 1));
    const count = takeBetween(this.#values, mean, from, to, binHz, mainHz, LOBE / windowSec);
    return count < FEWEST_BINS ? null : median(this.#values.subarray(0, count)) + Number.MIN_VALUE;
  }
}

/** Takes the powers of bins [from, to] that are further than this from every multiple of a frequency. @returns how many */
function takeBetween(
  values: Float64Array,
  mean: Float64Array,
  from: number,
  to: number,
  binHz: number,
  mainHz: number,
  apartHz: number,
): number {
  let count = 0;
  for (let bin = from; bin <= to; bin++) {
    const number = Math.max(1, Math.round((bin * binHz) / mainHz));
    if (Math.abs(bin * binHz - number * mainHz) > apartHz) values[count++] = mean[bin];
  }
  return count;
}
