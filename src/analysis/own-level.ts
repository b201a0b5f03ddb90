import type { Samples } from '../audio/samples.ts';
import { median, quantile } from '../statistics.ts';
import { midiToHz, powerToDb } from '../units.ts';
import { SpectrumPair } from './spectrum.ts';

/** Levels are measured at every tick; two ticks make a frame. */
export const TICK_SEC = 0.005;

/** Short enough for a tongue's dip of 20 ms, long enough to part the partials of all but the lowest reeds. */
const WINDOW_SEC = 0.0174;
/** Partials are followed up to here; phones and codecs keep little above. */
const HIGHEST_PARTIAL_HZ = 6500;
const MOST_PARTIALS = 20;
/** Partials weaker than this against the strongest (power) are left out. */
const WEAKEST_PARTIAL = 3e-4;
/** A partial's usual power: so much of the stretch may be silence. */
const LOUD_QUANTILE = 0.75;
/** What a partial's power is floored at, against its own usual power and against the strongest's. */
const OWN_FLOOR = 1e-3;
const STRONGEST_FLOOR = 3e-6;

/**
 * How loud one pitch is by its own partials, tick by tick: the mean of the partials' levels in dB. The mean in
 * dB counts each partial alike, so that a room that swells some of them and dims others averages out, while a
 * breath or a tongue, which dims all, remains.
 */
export class OwnLevel {
  readonly #spectrum: SpectrumPair;
  readonly #nyquistHz: number;

  constructor(samples: Samples) {
    this.#spectrum = new SpectrumPair(samples, WINDOW_SEC);
    this.#nyquistHz = samples.sampleRate / 2;
  }

  /**
   * @param fromTick first tick
   * @param midi pitch of each tick from there on, real-valued (A4 = 440 Hz)
   * @param avoidMidi a pitch whose partials may not be counted, as they are shared with another sound
   * @returns the level of each tick in dB re full scale (power of the mean partial)
   */
  measure(fromTick: number, midi: Float32Array, avoidMidi?: number): Float32Array {
    const count = midi.length;
    const power = this.#partials(fromTick, midi, avoidMidi);
    const usual = power.map((track) => quantile(track, LOUD_QUANTILE));
    const strongest = Math.max(1e-14, ...usual);
    const level = new Float32Array(count);
    let used = 0;
    power.forEach((track, k) => {
      if (usual[k] < strongest * WEAKEST_PARTIAL) return;
      used++;
      const floor = Math.max(usual[k] * OWN_FLOOR, strongest * STRONGEST_FLOOR);
      for (let i = 0; i < count; i++) level[i] += powerToDb(track[i] + floor);
    });
    for (let i = 0; i < count; i++) level[i] /= Math.max(1, used);
    return level;
  }

  #partials(fromTick: number, midi: Float32Array, avoidMidi: number | undefined): Float32Array[] {
    const spectrum = this.#spectrum;
    const binHz = spectrum.binHz;
    const centreHz = midiToHz(median(midi));
    const highestHz = Math.min(HIGHEST_PARTIAL_HZ, this.#nyquistHz - 3 * binHz);
    const count = Math.max(1, Math.min(MOST_PARTIALS, Math.floor(highestHz / centreHz)));
    const kept: number[] = [];
    for (let k = 1; k <= count; k++) {
      if (avoidMidi === undefined || !isShared(k * centreHz, midiToHz(avoidMidi), 1.2 * binHz)) kept.push(k);
    }
    if (kept.length === 0) for (let k = 1; k <= count; k++) kept.push(k);
    const power = kept.map(() => new Float32Array(midi.length));
    for (let i = 0; i < midi.length; i += 2) {
      spectrum.measure((fromTick + i) * TICK_SEC, (fromTick + i + 1) * TICK_SEC);
      for (let half = 0; half < 2 && i + half < midi.length; half++) {
        const magnitude = half === 0 ? spectrum.first : spectrum.second;
        const f0Hz = midiToHz(midi[i + half]);
        kept.forEach((k, slot) => {
          const bin = Math.min(magnitude.length - 2, Math.max(1, Math.round((k * f0Hz) / binHz)));
          power[slot][i + half] = magnitude[bin - 1] ** 2 + magnitude[bin] ** 2 + magnitude[bin + 1] ** 2;
        });
      }
    }
    return power;
  }
}

function isShared(partialHz: number, otherHz: number, withinHz: number): boolean {
  const nearest = Math.max(1, Math.round(partialHz / otherHz)) * otherHz;
  return Math.abs(partialHz - nearest) < withinHz;
}
