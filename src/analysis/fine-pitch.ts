import type { Samples } from '../audio/samples.ts';
import { median } from '../statistics.ts';
import { hzToMidi, midiToHz, powerToDb } from '../units.ts';
import { SpectrumPair } from './spectrum.ts';

const WINDOW_SEC = 0.0464;
/** The two spectra whose phases are compared lie this far apart. */
const STEP_SEC = 0.01;
const PARTIALS = 8;
/** Partials that give a pitch further than this from the others' median are another sound's. */
const OUTLIER_SEMITONES = 0.3;
/** What lies further than this from a partial counts as noise, up to this frequency. */
const NOISE_TO_HZ = 6000;
/** Half width of a partial in the spectrum: the Hann window's main lobe, and a little of what drifts. */
const PARTIAL_HALF_WIDTH_HZ = 2.2 / WINDOW_SEC;
/** Partials weaker than this against the strongest (power) don't help to count the turns of the next one. */
const WEAKEST_GUIDE = 0.03;

/** The pitch of a moment, and how much of the sound belongs to it. */
export interface FinePitch {
  /** Real-valued MIDI number (A4 = 440 Hz). */
  readonly midi: number;
  /** Power of the partials against all else below 6 kHz, in dB (10 log10); about 35 at most. */
  readonly harmonicityDb: number;
}

/**
 * Fundamental frequency by the advance of the partials' phases over 10 ms (phase vocoder: Flanagan and Golden,
 * Bell Syst. Tech. J. 45(9), 1493-1509, 1966), weighted over the partials by least squares. Steady tones are
 * right to some hundredths of a cent.
 */
export class FinePitchMeter {
  readonly #spectrum: SpectrumPair;
  readonly #sampleRate: number;
  readonly #stepSec: number;

  constructor(samples: Samples) {
    this.#spectrum = new SpectrumPair(samples, WINDOW_SEC);
    const step = Math.round(STEP_SEC * samples.sampleRate);
    this.#sampleRate = samples.sampleRate;
    this.#stepSec = step / samples.sampleRate;
  }

  /** The pitch near `midi` at a time; null when no partial is there. */
  measure(sec: number, midi: number): FinePitch | null {
    const spectrum = this.#spectrum;
    const { binHz, first } = spectrum;
    // On whole samples, so that the two stretches lie exactly one step apart.
    const firstSec = Math.round((sec - this.#stepSec / 2) * this.#sampleRate) / this.#sampleRate;
    spectrum.measure(firstSec, firstSec + this.#stepSec);
    const found = this.#partials(midiToHz(midi));
    let partialPower = 0;
    if (found.length === 0) return null;
    const centre = weightedMedian(found);
    let sum = 0;
    let weights = 0;
    for (const { hz, weight } of found) {
      if (Math.abs(hzToMidi(Math.max(1, hz)) - hzToMidi(Math.max(1, centre))) > OUTLIER_SEMITONES) continue;
      sum += weight * hz;
      weights += weight;
    }
    if (!(sum > 0)) return null;
    const f0Hz = sum / weights;
    let total = 0;
    const top = Math.min(first.length, Math.floor(NOISE_TO_HZ / binHz));
    for (let b = 2; b < top; b++) {
      const power = first[b] ** 2;
      total += power;
      const offset = (b * binHz) / f0Hz;
      const offHz = Math.abs(offset - Math.round(offset)) * f0Hz;
      if (offHz <= PARTIAL_HALF_WIDTH_HZ && offset > 0.5) partialPower += power;
    }
    const ratio = partialPower / Math.max(total - partialPower, total * 1e-6, 1e-20);
    return { midi: hzToMidi(f0Hz), harmonicityDb: powerToDb(Math.max(ratio, 1e-6)) };
  }

  /**
   * The fundamental by each partial, from the lowest on: whole turns between the stretches are counted by what the
   * partials below have told, as a guess some cents off would miscount them for a high partial.
   */
  #partials(expectedHz: number): { hz: number; weight: number }[] {
    const { binHz, first } = this.#spectrum;
    const peaks: { k: number; bin: number; power: number }[] = [];
    for (let k = 1; k <= PARTIALS; k++) {
      const bin = peakNear(first, (k * expectedHz) / binHz);
      if (bin === null) break;
      if (first[bin] > 0) peaks.push({ k, bin, power: first[bin] ** 2 });
    }
    const least = WEAKEST_GUIDE * Math.max(0, ...peaks.map(({ power }) => power));
    let guideHz = expectedHz;
    let sum = 0;
    let weights = 0;
    return peaks.map(({ k, bin, power }) => {
      const hz = this.#frequency(bin, k * guideHz) / k;
      const weight = power * k * k;
      if (power >= least) {
        sum += weight * hz;
        weights += weight;
        guideHz = sum / weights;
      }
      return { hz, weight };
    });
  }

  /** Frequency of the partial at a bin, from its phase advance; the nearest to the expected one of those possible. */
  #frequency(bin: number, expectedHz: number): number {
    const cycles = this.#spectrum.phaseAdvance(bin) / (2 * Math.PI);
    const turns = Math.round(expectedHz * this.#stepSec - cycles);
    return (turns + cycles) / this.#stepSec;
  }
}

function peakNear(magnitude: Float64Array, at: number): number | null {
  const centre = Math.round(at);
  if (centre + 2 >= magnitude.length || centre < 2) return null;
  let best = centre;
  for (let b = centre - 1; b <= centre + 1; b++) if (magnitude[b] > magnitude[best]) best = b;
  return best;
}

function weightedMedian(found: readonly { hz: number; weight: number }[]): number {
  const sorted = [...found].sort((a, b) => a.hz - b.hz);
  const half = sorted.reduce((sum, { weight }) => sum + weight, 0) / 2;
  let sum = 0;
  for (const { hz, weight } of sorted) {
    sum += weight;
    if (sum >= half) return hz;
  }
  return median(sorted.map(({ hz }) => hz));
}
