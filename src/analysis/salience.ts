import { midiToHz } from '../units.ts';
import { GRID_SIZE, STEPS_PER_OCTAVE, stepToMidi } from './pitch-grid.ts';

/** Partials that speak for a pitch, with weights falling as 1/sqrt(k). */
const PARTIALS = 8;
/** How much a partial half-way between two harmonics speaks against a pitch. */
const BETWEEN_WEIGHT = 0.7;
/** The same for what lies at a third and two thirds of a pitch: its own third partial must not pass for a pitch. */
const THIRDS_WEIGHT = 0.3;
/** Near the top of the spectrum one lone partial would weigh as much as a whole series: at least two are asked for. */
const LEAST_WEIGHT = 1 + Math.SQRT1_2;

/** Steps of the log-frequency spectrum below the first pitch step: a third of the lowest fundamental must be on it. */
const STEPS_BELOW = 2 * STEPS_PER_OCTAVE;

/**
 * Harmonic evidence for every pitch of a range: the weighted sum of a compressed spectrum at the harmonics of
 * the pitch, less what lies half-way below each harmonic, which is what an octave error would find occupied.
 * In the family of harmonic-comb and sub-harmonic summation methods (Hermes, JASA 83(1), 257-264, 1988;
 * Camacho and Harris, SWIPE, JASA 124(3), 1638-1652, 2008).
 */
export class Salience {
  /** First and last pitch step (inclusive, exclusive) for which `strength` is filled. */
  readonly fromStep: number;
  readonly toStep: number;
  /** Evidence by pitch step, in nats of compressed magnitude; about 0 where nothing speaks for the pitch. */
  readonly strength = new Float64Array(GRID_SIZE);
  readonly #logSpectrum: Float64Array;
  readonly #compressed: Float64Array;
  readonly #position: Float64Array;
  /** Where the harmonics lie above a step of the log spectrum, what each weighs, and what lies half-way below it. */
  readonly #shifts = new Int32Array(PARTIALS);
  readonly #betweenShifts = new Int32Array(PARTIALS);
  readonly #weights = new Float64Array(PARTIALS);
  /** Bins of the magnitude spectrum that are looked at. */
  readonly #fromBin: number;
  readonly #toBin: number;
  readonly #thirds: number[] = [];
  readonly #inverseWeight: Float64Array;
  readonly #inverseReference: number;

  /**
   * @param binHz spacing of the magnitude spectra that will come
   * @param bins their number
   * @param reference magnitude that is compressed to ln 2
   */
  constructor(binHz: number, bins: number, reference: number, fromStep: number, toStep: number) {
    this.fromStep = fromStep;
    this.toStep = toStep;
    this.#compressed = new Float64Array(bins);
    this.#inverseReference = 1 / reference;
    const lowestStep = fromStep - STEPS_BELOW;
    const highestStep = Math.ceil(toStep + STEPS_PER_OCTAVE * Math.log2(PARTIALS));
    const positions: number[] = [];
    for (let step = lowestStep; step <= highestStep; step++) {
      const position = midiToHz(stepToMidi(step)) / binHz;
      if (position > bins - 3) break;
      positions.push(position);
    }
    this.#position = Float64Array.from(positions);
    // Zeros stand for what lies above the spectrum, so that the comb needs no end condition.
    this.#logSpectrum = new Float64Array(highestStep - lowestStep + 2);
    this.#fromBin = Math.max(0, Math.floor(positions[0]) - 1);
    this.#toBin = Math.min(bins, Math.floor(positions[positions.length - 1]) + 3);
    for (let k = 1; k <= PARTIALS; k++) {
      this.#shifts[k - 1] = STEPS_BELOW + Math.round(STEPS_PER_OCTAVE * Math.log2(k));
      this.#betweenShifts[k - 1] = STEPS_BELOW + Math.round(STEPS_PER_OCTAVE * Math.log2(k - 0.5));
      this.#weights[k - 1] = 1 / Math.sqrt(k);
    }
    for (const below of [1 / 3, 2 / 3]) {
      this.#thirds.push(STEPS_BELOW + Math.round(STEPS_PER_OCTAVE * Math.log2(1 - below)));
    }
    const weightSum = new Float64Array(GRID_SIZE);
    for (let step = fromStep; step < toStep; step++) {
      for (let k = 0; k < PARTIALS; k++) {
        if (step - fromStep + this.#shifts[k] < positions.length) weightSum[step] += this.#weights[k];
      }
    }
    this.#inverseWeight = weightSum.map((sum) => (sum > 0 ? 1 / Math.max(sum, LEAST_WEIGHT) : 0));
  }

  /** Fills `strength` from a magnitude spectrum. */
  measure(magnitude: Float64Array): void {
    const compressed = this.#compressed;
    const inverse = this.#inverseReference;
    for (let k = this.#fromBin; k < this.#toBin; k++) compressed[k] = Math.log(1 + magnitude[k] * inverse);
    this.#interpolate();
    const { strength, fromStep, toStep } = this;
    const spectrum = this.#logSpectrum;
    const [third, twoThirds] = this.#thirds;
    const [h1, h2, h3, h4, h5, h6, h7, h8] = this.#shifts;
    const [b1, b2, b3, b4, b5, b6, b7, b8] = this.#betweenShifts;
    const [w1, w2, w3, w4, w5, w6, w7, w8] = this.#weights;
    // Written out: this is the inner loop of the whole programme, and twice as fast so.
    for (let step = fromStep; step < toStep; step++) {
      const at = step - fromStep;
      const harmonics =
        w1 * spectrum[at + h1] +
        w2 * spectrum[at + h2] +
        w3 * spectrum[at + h3] +
        w4 * spectrum[at + h4] +
        w5 * spectrum[at + h5] +
        w6 * spectrum[at + h6] +
        w7 * spectrum[at + h7] +
        w8 * spectrum[at + h8];
      const between =
        w1 * spectrum[at + b1] +
        w2 * spectrum[at + b2] +
        w3 * spectrum[at + b3] +
        w4 * spectrum[at + b4] +
        w5 * spectrum[at + b5] +
        w6 * spectrum[at + b6] +
        w7 * spectrum[at + b7] +
        w8 * spectrum[at + b8];
      const thirds = spectrum[at + third] + spectrum[at + twoThirds];
      strength[step] =
        (harmonics - BETWEEN_WEIGHT * between - THIRDS_WEIGHT * thirds) * this.#inverseWeight[step];
    }
  }

  /** Reads the compressed spectrum at the log-frequency steps by Catmull-Rom interpolation. */
  #interpolate(): void {
    const position = this.#position;
    const y = this.#compressed;
    const out = this.#logSpectrum;
    for (let i = 0; i < position.length; i++) {
      const at = position[i];
      const k = at | 0;
      const t = at - k;
      const before = k > 0 ? y[k - 1] : y[0];
      const a = y[k];
      const b = y[k + 1];
      const after = y[k + 2];
      out[i] =
        a +
        0.5 *
          t *
          (b - before + t * (2 * before - 5 * a + 4 * b - after + t * (3 * (a - b) + after - before)));
    }
  }
}
