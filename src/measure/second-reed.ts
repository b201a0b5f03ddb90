import type { SoundEvent } from '../analysis/events.ts';
import { median } from '../analysis/own-level.ts';
import { SpectrumPair } from '../analysis/spectrum.ts';
import type { Samples } from '../audio/samples.ts';
import type { PlayableNote } from '../harp/types.ts';
import type { NoteLeak } from '../tab/note.ts';
import { amplitudeToDb, centsBetween } from '../units.ts';

/** Long enough to part the reeds of neighbouring holes of a low harp. */
const WINDOW_SEC = 0.0928;
/** A held part shorter than this holds too few independent spectra. */
const SHORTEST_HELD_SEC = 0.12;
const SPECTRA = 12;
const PARTIALS = 8;
const HIGHEST_HZ = 6000;
/** A partial of the second reed must stand clear of every partial of the note itself by this many bins. */
const CLEAR_BINS = 3.2;
/** … and rise above what lies around it by this much. */
const RISE_DB = 9;
/** How far a second reed may be from its target: it is bent along by the same breath. */
const REACH_CENTS = 18;
/** Two partials at least, and this share of those that could be seen. */
const FEWEST_PARTIALS = 2;
const LEAST_SHARE = 0.6;
/** Weaker than this it is not told from noise. */
const LIMIT_DB = -34;

/**
 * Finds a second reed that sounds along, by partials that the note itself can't have: for each natural reed of the
 * next two holes in the same breath. Where its partials coincide with the note's (octaves, mostly fifths) it can't
 * be seen and is not reported. Levels compare partials of the same number, and take their median.
 */
export class SecondReedMeter {
  readonly #spectrum: SpectrumPair;

  constructor(samples: Samples) {
    this.#spectrum = new SpectrumPair(samples, WINDOW_SEC);
  }

  /** @returns null when no second reed stands out */
  measure(event: SoundEvent, note: PlayableNote, notes: readonly PlayableNote[]): NoteLeak | null {
    const [fromSec, toSec] = event.heldSec;
    if (toSec - fromSec < SHORTEST_HELD_SEC) return null;
    const power = this.#meanPower(fromSec, toSec);
    let found: NoteLeak | null = null;
    for (const other of notes) {
      if (other.bend > 0 || other.over || other.breath !== note.breath) continue;
      const holes = Math.abs(other.hole - note.hole);
      if (holes === 0 || holes > 2) continue;
      const levelDb = this.#levelOf(power, event.f0Hz, other.f0Hz);
      if (levelDb !== null && (found === null || levelDb > found.levelDb))
        found = { hole: other.hole, levelDb };
    }
    return found;
  }

  #meanPower(fromSec: number, toSec: number): Float64Array {
    const spectrum = this.#spectrum;
    const power = new Float64Array(spectrum.first.length);
    const pairs = Math.max(1, Math.min(SPECTRA / 2, Math.floor((toSec - fromSec) / 0.04)));
    const step = (toSec - fromSec) / (2 * pairs);
    for (let i = 0; i < pairs; i++) {
      spectrum.measure(fromSec + (2 * i + 0.5) * step, fromSec + (2 * i + 1.5) * step);
      for (let k = 0; k < power.length; k++) power[k] += spectrum.first[k] ** 2 + spectrum.second[k] ** 2;
    }
    return power;
  }

  #levelOf(power: Float64Array, mainHz: number, otherHz: number): number | null {
    if (Math.abs(centsBetween(mainHz, otherHz)) < 50) return null;
    const { binHz } = this.#spectrum;
    const levels: number[] = [];
    let visible = 0;
    for (let j = 1; j <= PARTIALS && j * otherHz < HIGHEST_HZ; j++) {
      const hz = j * otherHz;
      const reach = Math.max(1, (hz * (2 ** (REACH_CENTS / 1200) - 1)) / binHz);
      const at = hz / binHz;
      if (distanceToPartial(hz, mainHz) / binHz < CLEAR_BINS + reach) continue;
      const main = peak(power, (j * mainHz) / binHz, 2);
      const around = floorAround(power, at, mainHz / binHz);
      const limit = main * 10 ** (LIMIT_DB / 10);
      if (around > limit * 10) continue;
      visible++;
      const here = peak(power, at, reach);
      if (here > around * 10 ** (RISE_DB / 10) && here > limit)
        levels.push(amplitudeToDb(Math.sqrt(here / main)));
    }
    if (levels.length < Math.min(FEWEST_PARTIALS, visible) || levels.length === 0) return null;
    if (levels.length < LEAST_SHARE * visible || visible < FEWEST_PARTIALS) return null;
    return median(levels);
  }
}

function distanceToPartial(hz: number, mainHz: number): number {
  const nearest = Math.max(1, Math.round(hz / mainHz)) * mainHz;
  return Math.abs(hz - nearest);
}

function peak(power: Float64Array, at: number, reach: number): number {
  let most = 0;
  const to = Math.min(power.length - 1, Math.ceil(at + reach));
  for (let k = Math.max(1, Math.floor(at - reach)); k <= to; k++) most = Math.max(most, power[k]);
  return most;
}

/** The median power between the note's partials around a place, the place itself left out. */
function floorAround(power: Float64Array, at: number, mainBins: number): number {
  const values: number[] = [];
  for (let k = Math.floor(at - 0.8 * mainBins); k <= at + 0.8 * mainBins; k++) {
    if (k < 1 || k >= power.length || Math.abs(k - at) < 4) continue;
    const offset = Math.abs(k / mainBins - Math.round(k / mainBins)) * mainBins;
    if (offset > 3) values.push(power[k]);
  }
  return values.length > 0 ? median(values) : 0;
}
