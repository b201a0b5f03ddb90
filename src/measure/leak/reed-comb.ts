import { powerToDb } from '../../units.ts';
import type { HeldSpectrum } from './held-spectrum.ts';
import { FLOOR_SIDE_HZ, LOBE, NoiseFloors } from './noise-floors.ts';

/** Partials above this carry little, and phones and codecs drop them first. */
const HIGHEST_HZ = 6000;
const NYQUIST_SHARE = 0.45;
const MOST_PARTIALS = 8;
/** A partial of the other reed must clear the lobes of the note's own partials by this, in Hz. */
const CLEAR_HZ = 4;
/** How far from its own pitch the other reed is searched for: the same breath bends it along with the note. */
const REACH_CENTS = 21;
const STEP_CENTS = 3;
const REACH_SHARE = 2 ** (REACH_CENTS / 1200) - 1;
const REACH = Array.from(
  { length: 2 * (REACH_CENTS / STEP_CENTS) + 1 },
  (_, i) => i * STEP_CENTS - REACH_CENTS,
);
const REACH_RATIOS = REACH.map((cents) => 2 ** (cents / 1200));
/** A partial is credited with at most this much above the noise, so that no single line decides. */
const MOST_RISE_DB = 25;
const RISEN_DB = 8;
/** Only the lowest partials are judged; those above are often below the noise. */
export const JUDGED_PARTIALS = 5;
/** Weight of the mean over partials (in a room it lowers the 90th percentile of the error from 4.9 to 4.0 dB). */
const PARTIAL_SHARE = 0.4;
/** Partials scatter by 3.5 dB around a reed's envelope, so a mean of dB values lies below the dB of the mean. */
const PARTIAL_SPREAD_DB2 = 3.5 ** 2;
/** Partials this many times above the noise, in power, count fully there. */
const CLEARLY_RISEN = 4;
/** If a window can't show a noise floor, it is taken as this share of the mean one, in power. */
const WINDOW_FLOOR = 0.3;

/** Partials below this are looked at. */
const topOf = (sampleRate: number): number => Math.min(HIGHEST_HZ, NYQUIST_SHARE * sampleRate);

/**
 * The frequency up to which a comb needs the spectrum of a note: that of the highest partial, wherever its reed is found, and the noise
 * around the nearest half partial of the note. [allows for rounding to whole bins]
 */
export const spectrumTopHz = (sampleRate: number, mainHz: number): number =>
  topOf(sampleRate) * (1 + REACH_SHARE) + mainHz / 4 + 1.2 * FLOOR_SIDE_HZ;

/** What a comb at another reed's pitch finds in the spectrum of a note. */
export interface CombFinding {
  /** Power of the other reed relative to the note's, in dB (10 log10 of powers, equal to 20 log10 of amplitudes). */
  readonly levelDb: number;
  /** Its two estimates (see `ReedComb.find`). */
  readonly byPowerDb: number;
  readonly byPartialDb: number;
  /** The same in each window. */
  readonly windowDb: readonly number[];
  /** Where it was found, relative to the expected pitch. */
  readonly cents: number;
  /** Number of partials that do not coincide with the note's own, at most five. */
  readonly visible: number;
  /** How many of those stand 8 dB above the noise, and their mean height above it, in dB. */
  readonly risen: number;
  readonly riseDb: number;
  /** All partials that do not coincide, lowest first. */
  readonly partials: readonly SeenPartial[];
}

/** A partial that does not coincide with the note's own, and the noise around it (powers as in `HeldSpectrum`). */
export interface SeenPartial {
  readonly bin: number;
  readonly number: number;
  readonly power: number;
  readonly floor: number;
}

/** Searches for other reeds in the spectrum of one note. */
export class ReedComb {
  readonly #held: HeldSpectrum;
  readonly #topHz: number;
  #mainHz = 0;
  #main: number[] = [];
  #mainPower = 0;
  /** Power of the note's partials in each window. */
  #windowPowers: number[] = [];
  readonly #floors: NoiseFloors;
  readonly #rises = new Float64Array(REACH.length);

  constructor(held: HeldSpectrum, sampleRate: number) {
    this.#held = held;
    this.#floors = new NoiseFloors(held);
    this.#topHz = topOf(sampleRate);
  }

  /** Begins with the note that `held` has just measured. */
  begin(mainHz: number): void {
    const { mean, binHz } = this.#held;
    this.#mainHz = mainHz;
    this.#main = [];
    for (let k = 1; k * mainHz < this.#topHz; k++) this.#main.push(peakAt(mean, (k * mainHz) / binHz));
    this.#mainPower = this.#main.reduce((sum, power) => sum + power, 0);
    const { windows, count } = this.#held;
    this.#windowPowers = windows.slice(0, count).map((window) => this.mainPowerIn(window));
    this.#floors.begin(mainHz, this.#main.length);
  }

  /** Total power of the note's own partials, and of each, lowest first. */
  get mainPower(): number {
    return this.#mainPower;
  }
  get mainPartials(): readonly number[] {
    return this.#main;
  }

  /** Power of the note's partials in another window. */
  mainPowerIn(window: Float64Array): number {
    let sum = 0;
    for (let k = 1; k <= this.#main.length; k++) sum += peakAt(window, (k * this.#mainHz) / this.#held.binHz);
    return sum;
  }

  /** Centroid of the power of the note's own partials, in partial numbers, ≥ 1; null if it has no power. */
  brightness(): number | null {
    if (!(this.#mainPower > 0)) return null;
    return this.#main.reduce((sum, power, i) => sum + power * (i + 1), 0) / this.#mainPower;
  }

  /**
   * The strength of a reed of this pitch.
   * @returns null if none of its partials can be told from the note's own: unisons, octaves above, …
   */
  find(reedHz: number): CombFinding | null {
    const numbers = this.#visible(reedHz);
    if (numbers.length === 0) return null;
    const rises = this.#risesAround(numbers, reedHz);
    let bestRise = 0;
    let cents = 0;
    for (let i = 0; i < REACH.length; i++) {
      if (rises[i] > bestRise) {
        bestRise = rises[i];
        cents = REACH[i];
      }
    }
    const best = this.#seen(numbers, reedHz * 2 ** (cents / 1200));
    if (best.length === 0) return null;
    const judged = best.slice(0, JUDGED_PARTIALS);
    const { levelDb, byPowerDb, byPartialDb } = this.#levels(best, reedHz);
    return {
      levelDb,
      byPowerDb,
      byPartialDb,
      windowDb: this.#windowDb(best),
      cents,
      visible: judged.length,
      risen: judged.filter((partial) => riseDb(partial) > RISEN_DB).length,
      riseDb: judged.reduce((sum, partial) => sum + riseDb(partial), 0) / judged.length,
      partials: best,
    };
  }

  /** Numbers of the partials that stay clear of the note's own wherever the reed is searched for. */
  #visible(reedHz: number): number[] {
    const lobeHz = LOBE / this.#held.windowSec;
    const numbers: number[] = [];
    for (let number = 1; number <= MOST_PARTIALS && number * reedHz < this.#topHz; number++) {
      const hz = number * reedHz;
      const nearest = Math.max(1, Math.round(hz / this.#mainHz));
      const apartHz = Math.abs(hz - nearest * this.#mainHz);
      if (apartHz - hz * REACH_SHARE >= lobeHz + CLEAR_HZ) numbers.push(number);
    }
    return numbers;
  }

  /**
   * For every pitch within reach, the product of how many times above the noise each partial stands; partials below it count as 1.
   */
  #risesAround(numbers: readonly number[], reedHz: number): Float64Array {
    const { mean, binHz } = this.#held;
    const rises = this.#rises.fill(1);
    for (let k = 0; k < numbers.length; k++) {
      let bin = -1;
      let place = -1;
      let rise = 1;
      for (let i = 0; i < rises.length; i++) {
        const hz = numbers[k] * (reedHz * REACH_RATIOS[i]);
        const nextBin = Math.round(hz / binHz);
        const nextPlace = this.#floors.placeOf(hz);
        // Several pitches share a bin, above all of a low partial.
        if (nextBin !== bin || nextPlace !== place) {
          bin = nextBin;
          place = nextPlace;
          const floor = this.#floors.around(place);
          // Not limited here: in a quiet recording the whole foot of a line is far above the noise.
          rise = floor === null ? 1 : Math.max(1, mean[bin] / floor);
        }
        rises[i] *= rise;
      }
    }
    return rises;
  }

  #seen(numbers: readonly number[], reedHz: number): SeenPartial[] {
    const { mean, binHz } = this.#held;
    const seen: SeenPartial[] = [];
    for (const number of numbers) {
      const hz = number * reedHz;
      const floor = this.#floors.around(this.#floors.placeOf(hz));
      if (floor === null) continue;
      const bin = Math.round(hz / binHz);
      seen.push({ bin, number, power: mean[bin], floor });
    }
    return seen;
  }

  /**
   * Power of all partials of the reed relative to the note's, estimated twice. First, from what is seen, with the same share of
   * the note's envelope for partials that the note hides; this is right in a dry recording. Second, from the mean level of
   * the partials relative to that envelope, in which the peaks and notches of a room average out.
   */
  #levels(
    seen: readonly SeenPartial[],
    reedHz: number,
  ): Pick<CombFinding, 'levelDb' | 'byPowerDb' | 'byPartialDb'> {
    let power = 0;
    let envelope = 0;
    let hidden = 0;
    let next = 0;
    let logSum = 0;
    let logCount = 0;
    let whole = 0;
    for (let number = 1; number * reedHz < this.#topHz; number++) {
      const expected = this.#envelope(number * reedHz);
      whole += expected;
      if (next < seen.length && seen[next].number === number) {
        const { bin, floor } = seen[next++];
        const here = Math.max(0, peakAt(this.#held.mean, bin) - floor);
        power += here;
        envelope += expected;
        if (here > CLEARLY_RISEN * floor) {
          logSum += powerToDb(here / expected);
          logCount++;
        }
      } else {
        hidden += expected;
      }
    }
    const byPowerDb = powerToDb((power + (power / envelope) * hidden) / this.#mainPower + 1e-12);
    if (logCount < 2) return { levelDb: byPowerDb, byPowerDb, byPartialDb: byPowerDb };
    const byPartialDb =
      logSum / logCount + PARTIAL_SPREAD_DB2 * (Math.LN10 / 20) + powerToDb(whole / this.#mainPower);
    return {
      levelDb: (1 - PARTIAL_SHARE) * byPowerDb + PARTIAL_SHARE * byPartialDb,
      byPowerDb,
      byPartialDb,
    };
  }

  #windowDb(seen: readonly SeenPartial[]): number[] {
    const { windows, count } = this.#held;
    const levels: number[] = [];
    for (let w = 0; w < count; w++) {
      const power = windows[w];
      let reed = 0;
      for (const { bin, floor } of seen) reed += Math.max(power[bin] - floor, WINDOW_FLOOR * floor);
      const main = this.#windowPowers[w];
      levels.push(powerToDb((main > 0 ? reed / main : 0) + 1e-12));
    }
    return levels;
  }

  /** The note's partials as a curve over frequency: straight lines in dB. */
  #envelope(hz: number): number {
    const place = hz / this.#mainHz;
    const below = Math.max(1, Math.min(this.#main.length, Math.floor(place)));
    const above = Math.min(this.#main.length, below + 1);
    const share = Math.max(0, Math.min(1, place - below));
    return this.#main[below - 1] ** (1 - share) * this.#main[above - 1] ** share;
  }
}

const riseDb = ({ power, floor }: SeenPartial): number =>
  Math.min(MOST_RISE_DB, Math.max(0, powerToDb((power + Number.MIN_VALUE) / floor)));

function peakAt(power: Float64Array, at: number): number {
  const bin = Math.round(at);
  if (bin < 1 || bin + 1 >= power.length) return 0;
  return Math.max(power[bin - 1], power[bin], power[bin + 1]);
}
