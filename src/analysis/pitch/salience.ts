import type { Kernel } from '../../kernel.ts';
import { midiToHz } from '../../units.ts';
import { STEPS_PER_OCTAVE, stepToMidi } from './pitch-grid.ts';
import { LANES } from './quad-transform.ts';
import type { SpectrumQuad } from './spectrum.ts';

/** Number of partials that are evidence for a pitch, with weights falling as 1/sqrt(k). */
const PARTIALS = 8;
/** How much a partial half-way between two harmonics counts against a pitch. */
const BETWEEN_WEIGHT = 0.7;
/** The same at one and two thirds of a pitch: the third partial of a note must not be taken for a note. */
const THIRDS_WEIGHT = 0.3;
/** Near the top of the spectrum a single partial would weigh as much as a whole series, so at least two are required. */
const LEAST_WEIGHT = 1 + Math.SQRT1_2;

/** Steps of the log-frequency spectrum below the first pitch step: it must reach down to a third of the lowest fundamental. */
const STEPS_BELOW = 2 * STEPS_PER_OCTAVE;

/**
 * Harmonic evidence for every pitch of a range: the weighted sum of a compressed spectrum at the harmonics of the pitch,
 * minus what lies half-way below each harmonic, where a pitch that is an octave too low has partials. It belongs to the
 * harmonic-comb and sub-harmonic summation methods (Hermes, JASA 83(1), 257-264, 1988; Camacho and Harris, SWIPE, JASA
 * 124(3), 1638-1652, 2008).
 */
export class Salience {
  readonly #kernel: Kernel;
  readonly #spectrum: SpectrumQuad;
  readonly #inverseReference: number;
  readonly #strengthAt: number;
  readonly #steps: number;
  /** Range of bins of the spectrum that are used. */
  readonly #fromBin: number;
  readonly #toBin: number;
  /** Byte offset in the kernel's memory of the compressed spectra (ln(1 + magnitude / reference)), LANES values per bin. */
  readonly compressedAt: number;
  readonly #places: number;
  readonly #placesAt: number;
  readonly #logSpectrumAt: number;
  readonly #teeth: number;
  readonly #teethAt: number;
  readonly #scaleAt: number;

  /**
   * @param reference  magnitude that is compressed to ln 2
   * @param fromStep,toStep  pitch steps [fromStep, toStep)
   * @param compressTo  bins below this one are also compressed, for others to read
   * @param strengthAt  byte offset in the kernel's memory of the evidence at step 0, with room for three extra steps
   */
  constructor(
    kernel: Kernel,
    spectrum: SpectrumQuad,
    reference: number,
    fromStep: number,
    toStep: number,
    compressTo: number,
    strengthAt: number,
  ) {
    this.#kernel = kernel;
    this.#spectrum = spectrum;
    this.#inverseReference = 1 / reference;
    this.#strengthAt = strengthAt + 4 * LANES * fromStep;
    // The kernel fills four steps at a time.
    this.#steps = 4 * Math.ceil((toStep - fromStep) / 4);
    const { binHz } = spectrum;
    const { bins } = spectrum.fourier;
    const lowestStep = fromStep - STEPS_BELOW;
    const highestStep = Math.ceil(toStep + STEPS_PER_OCTAVE * Math.log2(PARTIALS));
    const positions: number[] = [];
    for (let step = lowestStep; step <= highestStep; step++) {
      const position = midiToHz(stepToMidi(step)) / binHz;
      if (position > bins - 3) break;
      positions.push(position);
    }
    this.#fromBin = Math.max(0, Math.floor(positions[0]) - 1);
    this.#toBin = Math.min(bins, Math.max(compressTo, Math.floor(positions[positions.length - 1]) + 3));
    this.compressedAt = kernel.reserve(LANES * bins);
    this.#places = positions.length;
    this.#placesAt = keepPlaces(kernel, positions);
    // Zeros above the top of the spectrum save the comb an end condition.
    this.#logSpectrumAt = kernel.reserve(LANES * (highestStep - lowestStep + 8));
    const teeth = combTeeth();
    this.#teeth = teeth.length;
    this.#teethAt = kernel.reserve(2 * teeth.length);
    for (const [i, { shift, weight }] of teeth.entries()) {
      kernel.words[this.#teethAt / 4 + 2 * i] = 4 * LANES * shift;
      kernel.floats[this.#teethAt / 4 + 2 * i + 1] = weight;
    }
    const scale = new Float64Array(this.#steps);
    for (let at = 0; at < toStep - fromStep; at++) {
      let sum = 0;
      for (let k = 1; k <= PARTIALS; k++) {
        if (at + stepsUp(k) < positions.length) sum += 1 / Math.sqrt(k);
      }
      scale[at] = sum > 0 ? 1 / Math.max(sum, LEAST_WEIGHT) : 0;
    }
    this.#scaleAt = kernel.keep(scale);
  }

  /**
   * Fills in the evidence from the last transform of the spectrum, in nats of compressed magnitude: about 0 without evidence.
   * The values of a step's four stretches are stored side by side.
   */
  measure(): void {
    const { code } = this.#kernel;
    this.#spectrum.fourier.fillPower(this.#fromBin, this.#toBin);
    const compressed = this.compressedAt;
    code.compress(
      this.#spectrum.fourier.powerAt,
      this.#inverseReference,
      this.#fromBin,
      this.#toBin,
      compressed,
    );
    code.interpolate(compressed, this.#placesAt, this.#places, this.#logSpectrumAt);
    code.comb(this.#logSpectrumAt, this.#teethAt, this.#teeth, this.#scaleAt, this.#steps, this.#strengthAt);
  }
}

/** How many steps above the lowest of the log spectrum a multiple of the first pitch lies. */
function stepsUp(multiple: number): number {
  return STEPS_BELOW + Math.round(STEPS_PER_OCTAVE * Math.log2(multiple));
}

/** Where the teeth of the comb lie above a step of the log spectrum, with their weights. */
function combTeeth(): { shift: number; weight: number }[] {
  const teeth: { shift: number; weight: number }[] = [];
  for (let k = 1; k <= PARTIALS; k++) {
    teeth.push({ shift: stepsUp(k), weight: 1 / Math.sqrt(k) });
    teeth.push({ shift: stepsUp(k - 0.5), weight: -BETWEEN_WEIGHT / Math.sqrt(k) });
  }
  for (const below of [1 / 3, 2 / 3]) teeth.push({ shift: stepsUp(1 - below), weight: -THIRDS_WEIGHT });
  return teeth;
}

/** Catmull-Rom interpolation at these bins in the kernel's format: the bin before each, and four weights. */
export function keepPlaces(kernel: Kernel, positions: readonly number[]): number {
  const at = kernel.reserve(5 * positions.length);
  for (const [i, position] of positions.entries()) {
    const before = Math.max(0, Math.floor(position) - 1);
    const t = position - before - 1;
    const slot = at / 4 + 5 * i;
    kernel.words[slot] = 4 * LANES * before;
    kernel.floats.set(
      [
        0.5 * t * (-1 + t * (2 - t)),
        1 + 0.5 * t * t * (3 * t - 5),
        0.5 * t * (1 + t * (4 - 3 * t)),
        0.5 * t * t * (t - 1),
      ],
      slot + 1,
    );
  }
  return at;
}
