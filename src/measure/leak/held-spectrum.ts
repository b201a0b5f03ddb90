import { CONTOUR_STEP_SEC, type SoundEvent } from '../../analysis/notes/events.ts';
import { LANES, QuadTransform } from '../../analysis/pitch/quad-transform.ts';
import { hannWindow } from '../../analysis/pitch/spectrum.ts';
import type { Samples } from '../../audio/samples.ts';
import { Kernel } from '../../kernel.ts';

/** Points of the transform: for short notes, and for those with longer windows. */
const SIZES = [2048, 4096] as const;
const SIZE = SIZES[1];
/** A window takes this share of the held part, within limits: longer ones resolve more, but short notes have no more to give. */
const WINDOW_SHARE = 0.6;
const LONGEST_WINDOW_SEC = 0.16;
const SHORTEST_WINDOW_SEC = 0.04;
/** Held parts at least this long have two windows, or four. */
const TWO_FROM_SEC = 0.1;
const FOUR_FROM_SEC = 0.4;

/** How far windows around an event keep away from its onset and its end. */
const BEFORE_SEC = 0.01;
export const AFTER_SEC = 0.02;

/** How far the pitch is followed away from the mean; beyond that, it was misheard. */
const WIDEST_SEMITONES = 2.5;
const WIDEST_RATIO = 2 ** (WIDEST_SEMITONES / 12);
/** The pitch counts as steady over this many samples, 1 to 2 ms; all window lengths are multiples of it. */
const STEADY_SAMPLES = 32;
/** Memory for both sizes. */
const KERNEL_BYTES = 2 ** 20;

/** A transform of up to four windows, with memory for its input and output. */
class Transform {
  readonly size: number;
  readonly windows: readonly Float64Array[];
  readonly mean: Float64Array;
  readonly #kernel: Kernel;
  readonly #fourier: QuadTransform;
  readonly #signalAt: number;
  readonly #hannAt: number;

  constructor(kernel: Kernel, size: number) {
    this.size = size;
    this.#kernel = kernel;
    this.#fourier = new QuadTransform(kernel, size);
    this.#signalAt = kernel.reserve(LANES * size);
    this.#hannAt = kernel.reserve(size);
    const powers = kernel.newDoubles((LANES * size) / 2);
    this.windows = Array.from({ length: LANES }, (_, w) =>
      powers.subarray((w * size) / 2, ((w + 1) * size) / 2),
    );
    this.mean = kernel.newDoubles(size / 2);
  }

  /** Byte offset in the kernel's memory for the samples of a window. */
  inputAt(window: number): number {
    return this.#signalAt + 4 * window * this.size;
  }

  /** Computes the powers of the first `count` windows, and their mean, in bins [1, to). */
  run(count: number, hann: Float64Array, to: number): void {
    const { size } = this;
    const fourier = this.#fourier;
    this.#kernel.floats.set(hann, this.#hannAt / 4);
    fourier.run(this.#signalAt, this.#hannAt, hann.length, 0, size, 2 * size, 3 * size);
    fourier.fillPower(1, to);
    this.#kernel.code.partLanes(
      fourier.powerAt,
      1,
      to,
      count,
      this.windows[0].byteOffset,
      4 * size,
      this.mean.byteOffset,
    );
  }
}

/**
 * Power spectra of a held note without its vibrato, drift and scoop: the sound is resampled along the measured pitch, so that
 * the note stands still, and with it every reed that the same breath bends. Partials are then single lines even where
 * vibrato would smear them (time warping, as in Edler et al., A time-warped MDCT approach to speech transform coding, AES
 * 126th Convention, 2009).
 */
export class HeldSpectrum {
  /** Bin spacing in Hz at the note's mean pitch; it and the number of bins change from note to note. */
  binHz = 0;
  /** Power of each window in time order, of which the first `count` are valid; a sine of amplitude 1 reads 1 at its peak. */
  windows: readonly Float64Array[] = [];
  /** Mean over the windows. */
  mean: Float64Array = new Float64Array(0);
  count = 0;
  /** Start of the first window, in seconds from the first sample. */
  fromSec = 0;
  /** Length of each window, and distance between the middles of neighbouring ones. */
  windowSec = 0;
  spacingSec = 0;
  readonly #samples: Samples;
  readonly #kernel: Kernel;
  readonly #transforms: readonly Transform[];
  readonly #stretchAt: number;
  readonly #hann = new Map<number, Float64Array>();
  readonly #topHz: (mainHz: number) => number;

  /** @param topHz  frequency up to which powers are needed around a note; those above are not filled in */
  constructor(samples: Samples, topHz: (mainHz: number) => number) {
    this.#samples = samples;
    this.#topHz = topHz;
    const kernel = new Kernel(KERNEL_BYTES);
    this.#kernel = kernel;
    this.#stretchAt = kernel.reserve(Math.ceil(WIDEST_RATIO * SIZE) + 3 * STEADY_SAMPLES);
    this.#transforms = SIZES.map((size) => new Transform(kernel, size));
  }

  /** Measures the held part of an event, or nearly all of a short one; less than 40 ms gives no window. */
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
    this.#run(
      event,
      Array.from({ length: this.count }, (_, w) => fromSec + w * this.spacingSec),
    );
  }

  /**
   * Replaces the windows by two of the same length, one before the onset of the event just measured and one after its end,
   * resampled for its pitch.
   */
  measureAround(event: SoundEvent): void {
    this.#run(event, [event.onsetSec - BEFORE_SEC - this.windowSec, event.offsetSec + AFTER_SEC]);
  }

  /** Computes one window for each start time, in seconds. */
  #run(event: SoundEvent, beginsSec: readonly number[]): void {
    const length = Math.min(
      SIZE,
      STEADY_SAMPLES * Math.round((this.windowSec * this.#samples.sampleRate) / STEADY_SAMPLES),
    );
    const transform = this.#transforms.find(({ size }) => length <= size)!;
    this.binHz = this.#samples.sampleRate / transform.size;
    this.windows = transform.windows;
    this.mean = transform.mean;
    this.count = beginsSec.length;
    const pitch = ratios(event.contourMidi, event.midi);
    beginsSec.forEach((fromSec, w) => {
      this.#load(transform.inputAt(w), event.onsetSec, pitch, fromSec, length);
    });
    const to = Math.min(transform.size / 2, Math.ceil(this.#topHz(event.f0Hz) / this.binHz));
    transform.run(this.count, this.#window(length), to);
  }

  /** Resamples from a time on, by cubic interpolation, so that the pitch becomes the event's mean. */
  #load(inputAt: number, onsetSec: number, pitch: Float64Array, fromSec: number, length: number): void {
    const rate = this.#samples.sampleRate;
    const first = Math.floor(fromSec * rate) - 2;
    // If the pitch lies above the mean, more of the recording is needed.
    const needed = Math.ceil(WIDEST_RATIO * length) + 2 * STEADY_SAMPLES;
    this.#samples.readTo(first, needed, this.#kernel, this.#stretchAt);
    const toStep = 1 / (rate * CONTOUR_STEP_SEC);
    const last = pitch.length - 1;
    const stepZero = (first / rate - onsetSec) / CONTOUR_STEP_SEC - 0.5;
    let at = fromSec * rate - first;
    for (let from = 0; from < length; from += STEADY_SAMPLES) {
      const step = Math.min(last, Math.max(0, stepZero + (at + STEADY_SAMPLES / 2) * toStep));
      const s = Math.min(last - 1, Math.floor(step));
      const ratio = last === 0 ? pitch[0] : pitch[s] + (step - s) * (pitch[s + 1] - pitch[s]);
      const pace = 1 / ratio;
      const whole = Math.floor(at) - 1;
      this.#kernel.code.resample(
        this.#stretchAt + 4 * whole,
        at - whole,
        pace,
        STEADY_SAMPLES,
        inputAt + 4 * from,
      );
      at += STEADY_SAMPLES * pace;
    }
  }

  #window(length: number): Float64Array {
    let window = this.#hann.get(length);
    if (!window) {
      window = hannWindow(length);
      this.#hann.set(length, window);
    }
    return window;
  }
}

/** Held parts shorter than this are too short: attack and release are then included, except for these ends. */
const LEAST_HELD_SEC = 0.12;
const ONSET_SEC = 0.03;
const OFFSET_SEC = 0.01;

function soundingPart({ heldSec, onsetSec, offsetSec }: SoundEvent): readonly [number, number] {
  if (heldSec[1] - heldSec[0] >= LEAST_HELD_SEC) return heldSec;
  const length = offsetSec - onsetSec;
  return [onsetSec + Math.min(ONSET_SEC, 0.2 * length), offsetSec - Math.min(OFFSET_SEC, 0.1 * length)];
}

/** Pitch relative to the mean at each step of the contour; unmeasured steps take the value before. */
function ratios(contourMidi: Float32Array, midi: number): Float64Array {
  const pitch = new Float64Array(Math.max(1, contourMidi.length)).fill(1);
  let before = 1;
  for (let i = 0; i < contourMidi.length; i++) {
    const off = contourMidi[i] - midi;
    if (Math.abs(off) <= WIDEST_SEMITONES) before = 2 ** (off / 12);
    pitch[i] = before;
  }
  return pitch;
}
