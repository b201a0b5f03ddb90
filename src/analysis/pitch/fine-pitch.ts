import { KnownPitches, perRecording } from '../../audio/heard-before.ts';
import type { Samples } from '../../audio/samples.ts';
import { hzToMidi, midiToHz, powerToDb } from '../../units.ts';
import { TICK_SEC } from './partial-level.ts';
import { LANES } from './quad-transform.ts';
import { type LineSpectrum, phaseAdvance, SpectrumLine } from './spectrum-line.ts';

/** Length of the window: that of the short spectrum in `frames.ts`. */
const WINDOW_SEC = 0.0464;
/** Distance between the two spectra whose phases are compared, rounded to whole samples. */
const STEP_SEC = 0.01;
/** Partials that are measured, as many as the comb looks at. */
const PARTIALS = 8;
/** A partial whose pitch is more than 0.3 semitones from the median of the others belongs to another sound. */
const OUTLIER_RATIO = 2 ** (0.3 / 12);
/** Everything further than the half width from a partial counts as noise, up to this frequency. */
const NOISE_TO_HZ = 6000;
/** Half width of a partial in the spectrum: the main lobe of the Hann window, and some room for drift. */
const PARTIAL_HALF_WIDTH_HZ = 2.2 / WINDOW_SEC;
/** Beyond the highest partial, spectra are needed for this many bins: its peak may lie in the next bin, which must end below. */
const PARTIAL_REACH_BINS = 3;
/** Partials weaker than this, in power relative to the strongest, are not used to count the turns of the next one. */
const WEAKEST_GUIDE = 0.03;

/** The pitch at one time, and how much of the sound belongs to it. */
export interface FinePitch {
  /** Real-valued MIDI number (A4 = 440 Hz). */
  readonly midi: number;
  /** Power of the partials over everything else below 6 kHz, in dB (10 log10); about 35 at most. */
  readonly harmonicityDb: number;
}

/** Notes begin at ticks, and are measured at every other tick. */
const knownPitches = perRecording((samples: Samples) => new KnownPitches(samples.durationSec, TICK_SEC));

/**
 * Measures the fundamental frequency by how far the phases of the partials advance in 10 ms (phase vocoder: Flanagan and
 * Golden, Bell Syst. Tech. J. 45(9), 1493-1509, 1966), weighted over the partials by least squares. Steady tones are
 * measured to within some hundredths of a cent.
 */
export class FinePitchMeter {
  readonly #spectra: SpectrumLine;
  readonly #sampleRate: number;
  readonly #known: KnownPitches;
  /** For each partial found: the fundamental that follows from it in Hz, and its weight. */
  readonly #hz = new Float64Array(PARTIALS);
  readonly #weight = new Float64Array(PARTIALS);
  readonly #bin = new Int32Array(PARTIALS);
  readonly #number = new Int32Array(PARTIALS);
  readonly #power = new Float64Array(PARTIALS);

  constructor(samples: Samples) {
    this.#spectra = new SpectrumLine(samples, WINDOW_SEC, STEP_SEC, NOISE_TO_HZ);
    this.#sampleRate = samples.sampleRate;
    this.#known = knownPitches(samples);
  }

  /** The pitch near `midi` at a time; null if no partial is found. */
  measure(sec: number, midi: number): FinePitch | null {
    const known = this.#known.find(sec, midi);
    if (known !== undefined) return known;
    const found = this.#measure(sec, midi);
    this.#known.keep(sec, midi, found);
    return found;
  }

  #measure(sec: number, midi: number): FinePitch | null {
    const spectra = this.#spectra;
    const expectedHz = midiToHz(midi);
    const toHz = PARTIALS * expectedHz + PARTIAL_REACH_BINS * spectra.binHz;
    const first = spectra.at(sec - STEP_SEC / 2, undefined, toHz);
    const second = spectra.at(sec + STEP_SEC / 2, first, toHz);
    const stepSec = (second.start - first.start) / this.#sampleRate;
    const found = this.#findPartials(first, second, stepSec, expectedHz);
    if (found === 0) return null;
    const centre = this.#weightedMedian(found);
    let sum = 0;
    let weights = 0;
    for (let i = 0; i < found; i++) {
      const ratio = Math.max(1, this.#hz[i]) / Math.max(1, centre);
      if (ratio > OUTLIER_RATIO || ratio * OUTLIER_RATIO < 1) continue;
      sum += this.#weight[i] * this.#hz[i];
      weights += this.#weight[i];
    }
    if (!(sum > 0)) return null;
    const f0Hz = sum / weights;
    const partialPower = powerOfPartials(
      first,
      f0Hz / spectra.binHz,
      PARTIAL_HALF_WIDTH_HZ / spectra.binHz,
      NOISE_TO_HZ / spectra.binHz,
    );
    const total = first.total;
    const ratio = partialPower / Math.max(total - partialPower, total * 1e-6, 1e-20);
    return { midi: hzToMidi(f0Hz), harmonicityDb: powerToDb(Math.max(ratio, 1e-6)) };
  }

  /**
   * The fundamental according to each partial, from the lowest up. Whole turns between the two spectra are counted by means
   * of the lower partials, since a guess that is off by a few cents would miscount them for a high one.
   * @returns the number of partials found
   */
  #findPartials(first: LineSpectrum, second: LineSpectrum, stepSec: number, expectedHz: number): number {
    const expectedBins = expectedHz / this.#spectra.binHz;
    let found = 0;
    let strongest = 0;
    for (let k = 1; k <= PARTIALS; k++) {
      const bin = peakNear(first, k * expectedBins);
      if (bin < 0) break;
      const power = powerAt(first, bin);
      if (power === 0) continue;
      strongest = Math.max(strongest, power);
      this.#power[found] = power;
      this.#number[found] = k;
      this.#bin[found++] = bin;
    }
    let guideHz = expectedHz;
    let sum = 0;
    let weights = 0;
    for (let i = 0; i < found; i++) {
      const k = this.#number[i];
      const bin = this.#bin[i];
      const cycles = phaseAdvance(first, second, bin) / (2 * Math.PI);
      // Of the possible frequencies, the closest to the expected one.
      const turns = Math.round(k * guideHz * stepSec - cycles);
      const hz = (turns + cycles) / stepSec / k;
      const weight = this.#power[i] * k * k;
      if (this.#power[i] >= WEAKEST_GUIDE * strongest) {
        sum += weight * hz;
        weights += weight;
        guideHz = sum / weights;
      }
      this.#hz[i] = hz;
      this.#weight[i] = weight;
    }
    return found;
  }

  /** Also sorts what was found by frequency. */
  #weightedMedian(found: number): number {
    const hz = this.#hz;
    const weight = this.#weight;
    let half = 0;
    for (let i = 0; i < found; i++) {
      const thisHz = hz[i];
      const thisWeight = weight[i];
      half += thisWeight / 2;
      let slot = i;
      for (; slot > 0 && hz[slot - 1] > thisHz; slot--) {
        hz[slot] = hz[slot - 1];
        weight[slot] = weight[slot - 1];
      }
      hz[slot] = thisHz;
      weight[slot] = thisWeight;
    }
    let sum = 0;
    for (let i = 0; i < found - 1; i++) {
      sum += weight[i];
      if (sum >= half) return hz[i];
    }
    return hz[found - 1];
  }
}

function powerAt({ power, lane }: LineSpectrum, bin: number): number {
  return power[LANES * bin + lane];
}

/** The strongest of the three bins around a position; -1 beyond the spectrum. */
function peakNear(spectrum: LineSpectrum, at: number): number {
  const centre = Math.round(at);
  if (centre + 2 >= spectrum.bins || centre < 2) return -1;
  let best = centre;
  for (let b = centre - 1; b <= centre + 1; b++) {
    if (powerAt(spectrum, b) > powerAt(spectrum, best)) best = b;
  }
  return best;
}

/** Power within this many bins of the multiples of `f0Bins`, counting each bin once, from the second bin up to the last before `topBins`. */
function powerOfPartials(
  spectrum: LineSpectrum,
  f0Bins: number,
  halfWidthBins: number,
  topBins: number,
): number {
  const top = Math.min(spectrum.bins, Math.floor(topBins));
  let power = 0;
  let next = Math.max(2, Math.floor(f0Bins / 2) + 1);
  for (let centre = f0Bins; next < top; centre += f0Bins) {
    const to = Math.min(top - 1, Math.floor(centre + halfWidthBins));
    for (next = Math.max(next, Math.ceil(centre - halfWidthBins)); next <= to; next++) {
      power += powerAt(spectrum, next);
    }
  }
  return power;
}
