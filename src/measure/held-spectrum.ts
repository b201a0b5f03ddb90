import FFT from 'fft.js';
import { CONTOUR_STEP_SEC, type SoundEvent } from '../analysis/events.ts';
import type { Samples } from '../audio/samples.ts';

/** Points of the transform: of short notes, and of those whose windows need more. */
const SIZES = [2048, 4096] as const;
const SIZE = SIZES[1];
/** A window takes this share of the held part, within limits: long ones part more, short ones are all there is. */
const WINDOW_SHARE = 0.6;
const LONGEST_WINDOW_SEC = 0.16;
const SHORTEST_WINDOW_SEC = 0.04;
/** From these lengths of the held part on, two and four windows. */
const TWO_FROM_SEC = 0.1;
const FOUR_FROM_SEC = 0.4;
const MOST_WINDOWS = 4;

/** A transform of two real stretches at a time (Press et al., Numerical Recipes, 12.3), and room for its results. */
class Transform {
  readonly size: number;
  readonly input: number[];
  readonly windows: readonly Float64Array[];
  readonly mean: Float64Array;
  readonly #fft: FFT;
  readonly #output: number[];

  constructor(size: number) {
    this.size = size;
    this.#fft = new FFT(size);
    this.input = this.#fft.createComplexArray().fill(0);
    this.#output = this.#fft.createComplexArray();
    this.windows = Array.from({ length: MOST_WINDOWS }, () => new Float64Array(size / 2));
    this.mean = new Float64Array(size / 2);
  }

  /** Transforms the input into the powers of two windows from `window` on. */
  run(window: number): void {
    const { size } = this;
    const output = this.#output;
    this.#fft.transform(output, this.input);
    const first = this.windows[window];
    const second = this.windows[window + 1];
    for (let k = 1; k < size / 2; k++) {
      const re = output[2 * k];
      const im = output[2 * k + 1];
      const mirrorRe = output[2 * (size - k)];
      const mirrorIm = output[2 * (size - k) + 1];
      const evenRe = re + mirrorRe;
      const evenIm = im - mirrorIm;
      const oddRe = re - mirrorRe;
      const oddIm = im + mirrorIm;
      first[k] = 0.25 * (evenRe * evenRe + evenIm * evenIm);
      second[k] = 0.25 * (oddRe * oddRe + oddIm * oddIm);
    }
  }
}

/**
 * Power spectra of a held note with its vibrato, drift and scoop taken out: the sound is resampled along the measured
 * pitch so that the note stands still, and with it every reed that the same breath bends along. Partials are then
 * single lines even where vibrato would smear them (time warping, as in Edler et al., A time-warped
 * MDCT approach to speech transform coding, AES 126th Convention, 2009).
 */
export class HeldSpectrum {
  /** Bin spacing in Hz, of frequencies at the note's mean pitch; it and the number of bins change with the note. */
  binHz = 0;
  /** Power of each window in order of time; a sine of amplitude 1 reads 1 at its peak. `count` of them are valid. */
  windows: readonly Float64Array[] = [];
  /** Mean over the windows. */
  mean: Float64Array = new Float64Array(0);
  count = 0;
  /** Beginning of the first window, in seconds from the first sample. */
  fromSec = 0;
  /** Length of each window, and from the middle of one to that of the next. */
  windowSec = 0;
  spacingSec = 0;
  readonly #samples: Samples;
  readonly #transforms = SIZES.map((size) => new Transform(size));
  readonly #hann = new Map<number, Float64Array>();
  #stretch: Float64Array = new Float64Array(0);

  constructor(samples: Samples) {
    this.#samples = samples;
  }

  /** Measures the held part of an event, of short ones all but the ends; less than 40 ms gives no window. */
  measure(event: SoundEvent): void {
    const [fromSec, toSec] = soundingPart(event);
    this.fromSec = fromSec;
    const heldSec = toSec - fromSec;
    this.count =
      heldSec >= FOUR_FROM_SEC ? 4 : heldSec >= TWO_FROM_SEC ? 2 : heldSec >= SHORTEST_WINDOW_SEC ? 1 : 0;
    if (this.count === 0) return;
    const share = this.count === 1 ? 1 : WINDOW_SHARE;
    this.windowSec = Math.max(SHORTEST_WINDOW_SEC, Math.min(LONGEST_WINDOW_SEC, share * heldSec));
    this.spacingSec = this.count === 1 ? 0 : (heldSec - this.windowSec) / (this.count - 1);
    const length = Math.min(SIZE, 32 * Math.round((this.windowSec * this.#samples.sampleRate) / 32));
    const transform = this.#transforms.find(({ size }) => length <= size)!;
    this.binHz = this.#samples.sampleRate / transform.size;
    this.windows = transform.windows;
    this.mean = transform.mean;
    const pitch = ratios(event);
    for (let w = 0; w < this.count; w += 2) {
      const { input } = transform;
      // What the last note filled and this one does not.
      input.fill(0, 2 * length);
      this.#load(input, event, pitch, fromSec + w * this.spacingSec, length, 0);
      if (w + 1 < this.count) {
        this.#load(input, event, pitch, fromSec + (w + 1) * this.spacingSec, length, 1);
      } else {
        for (let i = 0; i < length; i++) input[2 * i + 1] = 0;
      }
      transform.run(w);
    }
    const { mean, windows } = transform;
    mean.fill(0);
    for (let w = 0; w < this.count; w++) {
      const power = windows[w];
      for (let k = 0; k < mean.length; k++) mean[k] += power[k] / this.count;
    }
  }

  /** Resamples from a time on so that the pitch becomes the event's mean, by cubic interpolation, and windows it. */
  #load(
    input: number[],
    event: SoundEvent,
    pitch: Float64Array,
    fromSec: number,
    length: number,
    slot: 0 | 1,
  ): void {
    const rate = this.#samples.sampleRate;
    const first = Math.floor(fromSec * rate) - 2;
    // The pitch may lie up to a fifth above the mean: then the stretch is that much longer.
    const needed = Math.ceil(1.5 * length) + 8;
    if (this.#stretch.length < needed) this.#stretch = new Float64Array(needed);
    const x = this.#stretch;
    this.#samples.read(first, x);
    const hann = this.#window(length);
    const toStep = 1 / (rate * CONTOUR_STEP_SEC);
    const last = pitch.length - 1;
    const stepZero = (first / rate - event.onsetSec) / CONTOUR_STEP_SEC - 0.5;
    let at = fromSec * rate - first;
    for (let i = 0; i < length; i++) {
      const n = Math.floor(at);
      if (n + 2 >= x.length) break;
      const d = at - n;
      // Lagrange's cubic through four samples.
      const a = x[n - 1];
      const b = x[n];
      const c = x[n + 1];
      const e = x[n + 2];
      const value =
        b + d * (c - a / 3 - b / 2 - e / 6 + d * ((a + c) / 2 - b + d * ((b - c) / 2 + (e - a) / 6)));
      input[2 * i + slot] = value * hann[i];
      const step = Math.min(last, Math.max(0, stepZero + at * toStep));
      const s = Math.min(last - 1, Math.floor(step));
      const ratio = last === 0 ? pitch[0] : pitch[s] + (step - s) * (pitch[s + 1] - pitch[s]);
      at += 1 / ratio;
    }
  }

  #window(length: number): Float64Array {
    let window = this.#hann.get(length);
    if (!window) {
      window = new Float64Array(length);
      for (let i = 0; i < length; i++) {
        window[i] = (2 / length) * (1 - Math.cos((2 * Math.PI * (i + 0.5)) / length));
      }
      this.#hann.set(length, window);
    }
    return window;
  }
}

/** Held parts shorter than this are too little: attack and release are then taken along but for these ends. */
const LEAST_HELD_SEC = 0.12;
const ONSET_SEC = 0.03;
const OFFSET_SEC = 0.01;

function soundingPart({ heldSec, onsetSec, offsetSec }: SoundEvent): readonly [number, number] {
  if (heldSec[1] - heldSec[0] >= LEAST_HELD_SEC) return heldSec;
  const length = offsetSec - onsetSec;
  return [onsetSec + Math.min(ONSET_SEC, 0.2 * length), offsetSec - Math.min(OFFSET_SEC, 0.1 * length)];
}

/** Widest that the pitch is followed away from the mean: beyond, it was misheard. */
const WIDEST_SEMITONES = 2.5;

/** Pitch against the mean at each step of the contour; steps that were not measured take the value before. */
function ratios(event: SoundEvent): Float64Array {
  const { contourMidi, midi } = event;
  const pitch = new Float64Array(Math.max(1, contourMidi.length)).fill(1);
  let before = 1;
  for (let i = 0; i < contourMidi.length; i++) {
    const off = contourMidi[i] - midi;
    if (Math.abs(off) <= WIDEST_SEMITONES) before = 2 ** (off / 12);
    pitch[i] = before;
  }
  return pitch;
}
