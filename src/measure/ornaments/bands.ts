import { CONTOUR_STEP_SEC, type SoundEvent } from '../../analysis/notes/events.ts';
import { LANES } from '../../analysis/pitch/quad-transform.ts';
import { SpectrumQuad } from '../../analysis/pitch/spectrum.ts';
import type { Samples } from '../../audio/samples.ts';
import { Kernel } from '../../kernel.ts';
import { median } from '../../statistics.ts';
import { midiToHz, powerToDb } from '../../units.ts';
import type { SwingLimits } from './swing.ts';

/**
 * The level of a note's partials over time, each relative to its usual level, in dB (median over partials, so that a room that
 * raises some of them counts little); one value every `BAND_STEP_SEC`.
 */
export interface BandLevels {
  /** All partials that are loud enough. */
  readonly all: readonly number[];
  /** Those below 1.2 kHz, at least the first; empty if none of them is loud enough. */
  readonly low: readonly number[];
  /** Those from 1.5 to 6 kHz except the first two; for high notes, the second and third. Empty if none is loud enough. */
  readonly high: readonly number[];
  /** Each partial that is loud enough, relative to its usual level. */
  readonly partials: readonly Float64Array[];
  /** Their numbers; the first partial is 1. */
  readonly numbers: readonly number[];
}

/** Fast enough for the quickest hands: two moments of the pitch contour. */
export const BAND_STEP_SEC = 2 * CONTOUR_STEP_SEC;
/** What counts as a wave of the level; depth in dB. */
export const WAVE_LIMITS: SwingLimits = {
  slowestHz: 3,
  fastestHz: 8.5,
  leastDepth: 0.8,
  leastShare: 0.35,
  fewestWaves: 2,
};
/** Length of the short spectrum's window in `analysis/pitch`: 2048 samples at 44.1 kHz. */
const WINDOW_SEC = 0.0464;
const KERNEL_BYTES_PER_HZ = 12;
/** Partials that are followed, and the bands that hands affect differently: lower and upper ones. Set by hand, no source. */
const PARTIALS = 24;
const LOW_TO_HZ = 1200;
const HIGH_FROM_HZ = 1500;
const HIGH_TO_HZ = 6000;
/** Partials whose usual level is further below the strongest are noise, and left out. */
const WEAKEST_DB = -42;
const HIGH_FROM_PARTIAL = 2.5;
/** Notes above this have at most two audible partials besides the first. */
const HIGH_NOTE_HZ = 1200;
const HIGH_NOTE = { fromPartial: 1.5, toPartial: 3.5 } as const;
const LEAST_POWER = 1e-13;

/** Follows the levels of the lower and the upper partials of notes. */
export class BandMeter {
  readonly #spectrum: SpectrumQuad;

  constructor(samples: Samples) {
    this.#spectrum = new SpectrumQuad(
      new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate),
      samples,
      WINDOW_SEC,
    );
  }

  measure({ onsetSec, contourMidi, midi }: SoundEvent): BandLevels {
    const { fourier, binHz } = this.#spectrum;
    const f0Hz = midiToHz(midi);
    const isHigh = f0Hz >= HIGH_NOTE_HZ;
    const highToHz = isHigh ? Math.max(HIGH_TO_HZ, HIGH_NOTE.toPartial * f0Hz) : HIGH_TO_HZ;
    const highFromHz = Math.max(HIGH_FROM_HZ, (isHigh ? HIGH_NOTE.fromPartial : HIGH_FROM_PARTIAL) * f0Hz);
    const count = Math.max(
      1,
      Math.min(PARTIALS, Math.floor(highToHz / f0Hz), Math.floor(((fourier.bins - 3) * binHz) / f0Hz) - 1),
    );
    const tracks = this.#follow(onsetSec, contourMidi, midi, count);
    const usual = tracks.map((track) => (track.length === 0 ? -200 : median(track)));
    const strongest = Math.max(...usual);
    const loud = usual.map((db) => db >= strongest + WEAKEST_DB);
    tracks.forEach((track, k) => {
      lower(track, usual[k]);
    });
    const level = (fromHz: number, toHz: number): number[] => {
      const used = tracks.filter((_, k) => loud[k] && (k + 1) * f0Hz >= fromHz && (k + 1) * f0Hz < toHz);
      return used.length === 0 ? [] : medians(used);
    };
    return {
      all: level(0, highToHz),
      low: level(0, Math.max(LOW_TO_HZ, 1.5 * f0Hz)),
      partials: tracks.filter((_, k) => loud[k]),
      numbers: tracks.flatMap((_, k) => (loud[k] ? [k + 1] : [])),
      high: level(highFromHz, highToHz),
    };
  }

  /** Levels of the first `count` partials in dB. It takes no event, since V8 would compile it anew for each shape of one. */
  #follow(onsetSec: number, contourMidi: Float32Array, midi: number, count: number): Float64Array[] {
    const { fourier, binHz } = this.#spectrum;
    const steps = Math.floor(contourMidi.length / 2);
    const tracks = Array.from({ length: count }, () => new Float64Array(steps));
    const secAt = (i: number): number => onsetSec + (i + 0.5) * BAND_STEP_SEC;
    // None of the partials lies higher, however the pitch moves.
    const top = Math.min(
      fourier.bins,
      Math.ceil((count * midiToHz(highestOf(contourMidi, midi))) / binHz) + 3,
    );
    let last = midi;
    for (let from = 0; from < steps; from += LANES) {
      this.#spectrum.transform(secAt(from), secAt(from + 1), secAt(from + 2), secAt(from + 3));
      fourier.fillPower(1, top);
      for (let i = from; i < Math.min(steps, from + LANES); i++) {
        const heard = contourMidi[2 * i];
        if (!Number.isNaN(heard)) last = heard;
        const step = midiToHz(last) / binHz;
        for (let k = 1; k <= count; k++)
          tracks[k - 1][i] = powerToDb(
            highestAround(fourier.power, k * step, fourier.bins, i - from) + LEAST_POWER,
          );
      }
    }
    return tracks;
  }
}

/** The highest of the pitches, of which unknown ones are NaN, and of one more. */
function highestOf(contourMidi: Float32Array, midi: number): number {
  let highest = midi;
  for (let i = 0; i < contourMidi.length; i++) if (contourMidi[i] > highest) highest = contourMidi[i];
  return highest;
}

function lower(track: Float64Array, db: number): void {
  for (let i = 0; i < track.length; i++) track[i] -= db;
}

/** The median of the tracks at each moment. */
function medians(tracks: readonly Float64Array[]): number[] {
  const values = new Float64Array(tracks.length);
  return Array.from(tracks[0], (_, i) => {
    for (let k = 0; k < tracks.length; k++) values[k] = tracks[k][i];
    return median(values);
  });
}

/** The highest of the three bins around a position. */
function highestAround(power: Float32Array, place: number, bins: number, lane: number): number {
  const bin = Math.min(bins - 2, Math.max(2, Math.round(place)));
  return Math.max(
    power[LANES * (bin - 1) + lane],
    power[LANES * bin + lane],
    power[LANES * (bin + 1) + lane],
  );
}
