import { CONTOUR_STEP_SEC, type SoundEvent } from '../../analysis/notes/events.ts';
import { LANES } from '../../analysis/pitch/quad-transform.ts';
import { SpectrumQuad } from '../../analysis/pitch/spectrum.ts';
import type { Samples } from '../../audio/samples.ts';
import { Kernel } from '../../kernel.ts';
import { median } from '../../statistics.ts';
import { midiToHz, powerToDb } from '../../units.ts';

/** The level of a note's partials over time, in dB re full scale (mean of the partials' levels); one value every `BAND_STEP_SEC`. */
export interface BandLevels {
  /** All partials that are loud enough. */
  readonly all: readonly number[];
  /** Those below 1.2 kHz, at least the first. */
  readonly low: readonly number[];
  /** Those from 1.5 to 6 kHz; empty where none is loud enough. */
  readonly high: readonly number[];
}

/** Values a second enough for the quickest hands: two moments of the pitch contour. */
export const BAND_STEP_SEC = 2 * CONTOUR_STEP_SEC;
const WINDOW_SEC = 0.0464;
const KERNEL_BYTES_PER_HZ = 12;
const PARTIALS = 24;
const LOW_TO_HZ = 1200;
const HIGH_FROM_HZ = 1500;
const HIGH_TO_HZ = 6000;
/** Partials whose usual level lies further below the strongest are left out: noise is heard there. */
const WEAKEST_DB = -42;
const LEAST_POWER = 1e-13;

/** Follows how loud the lower and the upper partials of notes are. */
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
    const count = Math.floor(contourMidi.length / 2);
    const f0Hz = midiToHz(midi);
    const partials = Math.max(
      1,
      Math.min(PARTIALS, Math.floor(HIGH_TO_HZ / f0Hz), Math.floor(((fourier.bins - 3) * binHz) / f0Hz) - 1),
    );
    const tracks = Array.from({ length: partials }, () => new Array<number>(count).fill(0));
    const secAt = (i: number): number => onsetSec + (i + 0.5) * BAND_STEP_SEC;
    let last = midi;
    for (let from = 0; from < count; from += LANES) {
      this.#spectrum.transform(secAt(from), secAt(from + 1), secAt(from + 2), secAt(from + 3));
      fourier.fillPower(1, fourier.bins);
      for (let i = from; i < Math.min(count, from + LANES); i++) {
        const heard = contourMidi[2 * i];
        if (!Number.isNaN(heard)) last = heard;
        const step = midiToHz(last) / binHz;
        for (let k = 1; k <= partials; k++)
          tracks[k - 1][i] = powerToDb(
            highestAround(fourier.power, k * step, fourier.bins, i - from) + LEAST_POWER,
          );
      }
    }
    const usual = tracks.map((track) => (track.length === 0 ? -200 : median(track)));
    const strongest = Math.max(...usual);
    const loud = usual.map((db) => db >= strongest + WEAKEST_DB);
    const mean = (fromHz: number, toHz: number): number[] => {
      const used = tracks.filter((_, k) => loud[k] && (k + 1) * f0Hz >= fromHz && (k + 1) * f0Hz < toHz);
      if (used.length === 0) return [];
      return Array.from(
        { length: count },
        (_, i) => used.reduce((sum, track) => sum + track[i], 0) / used.length,
      );
    };
    return {
      all: mean(0, HIGH_TO_HZ),
      low: mean(0, Math.max(LOW_TO_HZ, 1.5 * f0Hz)),
      high: mean(Math.max(HIGH_FROM_HZ, 1.6 * f0Hz), HIGH_TO_HZ),
    };
  }
}

/** The highest of three bins around a place. */
function highestAround(power: Float32Array, place: number, bins: number, lane: number): number {
  const bin = Math.min(bins - 2, Math.max(2, Math.round(place)));
  return Math.max(
    power[LANES * (bin - 1) + lane],
    power[LANES * bin + lane],
    power[LANES * (bin + 1) + lane],
  );
}
