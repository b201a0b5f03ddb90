import type { Samples } from '../audio/samples.ts';
import { Kernel } from '../kernel.ts';
import { median, quantile } from '../statistics.ts';
import { midiToHz, powerToDb } from '../units.ts';
import { LANES } from './quad-transform.ts';
import { SpectrumQuad } from './spectrum.ts';

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
/** Room for tables and spectra, twice what they take at most. */
const KERNEL_BYTES_PER_HZ = 8;

/**
 * How loud one pitch is by its own partials, tick by tick: the mean of the partials' levels in dB. The mean in
 * dB counts each partial alike, so that a room that swells some of them and dims others averages out, while a
 * breath or a tongue, which dims all, remains.
 */
export class OwnLevel {
  readonly #spectrum: SpectrumQuad;
  readonly #nyquistHz: number;

  constructor(samples: Samples) {
    this.#spectrum = new SpectrumQuad(
      new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate),
      samples,
      WINDOW_SEC,
    );
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
    // One logarithm of the product for those of all partials; by the strongest, the product stays above 1e-111.
    const product = new Float64Array(count).fill(1);
    let used = 0;
    power.forEach((track, k) => {
      if (usual[k] < strongest * WEAKEST_PARTIAL) return;
      used++;
      const floor = Math.max(usual[k] * OWN_FLOOR, strongest * STRONGEST_FLOOR);
      for (let i = 0; i < count; i++) product[i] *= (track[i] + floor) / strongest;
    });
    const strongestDb = powerToDb(strongest);
    return Float32Array.from(product, (value) => (used === 0 ? 0 : powerToDb(value) / used + strongestDb));
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
    const { bins, power: quads } = spectrum.fourier;
    const perBin = 1 / binHz;
    for (let from = 0; from < midi.length; from += LANES) {
      const tick = fromTick + from;
      spectrum.transform(
        tick * TICK_SEC,
        (tick + 1) * TICK_SEC,
        (tick + 2) * TICK_SEC,
        (tick + 3) * TICK_SEC,
      );
      const lanes = Math.min(LANES, midi.length - from);
      let highest = 0;
      for (let lane = 0; lane < lanes; lane++) highest = Math.max(highest, midi[from + lane]);
      spectrum.fourier.fillPower(1, Math.ceil(kept[kept.length - 1] * midiToHz(highest) * perBin) + 3);
      for (let lane = 0; lane < lanes; lane++) {
        const step = midiToHz(midi[from + lane]) * perBin;
        for (let slot = 0; slot < kept.length; slot++) {
          const bin = Math.min(bins - 2, Math.max(1, Math.round(kept[slot] * step)));
          const at = LANES * bin + lane;
          power[slot][from + lane] = quads[at - LANES] + quads[at] + quads[at + LANES];
        }
      }
    }
    return power;
  }
}

function isShared(partialHz: number, otherHz: number, withinHz: number): boolean {
  const nearest = Math.max(1, Math.round(partialHz / otherHz)) * otherHz;
  return Math.abs(partialHz - nearest) < withinHz;
}
