import type { Samples } from '../../audio/samples.ts';
import { hannWindow } from '../pitch/spectrum.ts';

/** Long enough to part the partials of the lowest reeds (Hann, in seconds), and how far apart the windows lie. */
const WINDOW_SEC = 0.05;
const HOP_SEC = 0.02;
/** The breath's attack and what the room keeps are left out, in seconds. */
const ATTACK_SEC = 0.03;
const RELEASE_SEC = 0.02;
/** Of fewer windows nothing is said. */
const LEAST_WINDOWS = 4;
/** Keeps the logarithm of a perfect lock finite. */
const PERFECT = 1.02;

/**
 * How much more freely the second partial of a note moves against the first than the third does: ln of the ratio of what each
 * lacks of a perfect lock, -4 to 4; 0 where the note is too short to tell. All partials of one reed are locked in phase, since its
 * motion repeats (Fletcher, "Mode locking in nonlinearly excited inharmonic musical oscillators", JASA 64, 1978); another reed an
 * octave higher goes its own way, and the second partial is mostly its. Rooms loosen both partials alike.
 * @param f0Hz of the note, within some 50 cents
 */
export function freedomOfSecondPartial(
  samples: Samples,
  { onsetSec, offsetSec }: { readonly onsetSec: number; readonly offsetSec: number },
  f0Hz: number,
): number {
  const { sampleRate } = samples;
  const length = Math.round(WINDOW_SEC * sampleRate);
  const first = Math.round((onsetSec + ATTACK_SEC) * sampleRate);
  const hop = Math.round(HOP_SEC * sampleRate);
  const count = Math.floor((Math.round((offsetSec - RELEASE_SEC) * sampleRate) - first - length) / hop) + 1;
  if (count < LEAST_WINDOWS) return 0;
  const hann = hannWindow(length);
  const signal = new Float32Array(length);
  const second = new Lock(2);
  const third = new Lock(3);
  for (let i = 0; i < count; i++) {
    const at = first + i * hop;
    samples.read(at, signal);
    const [x1, x2, x3] = partialsOf(signal, hann, at, (2 * Math.PI * f0Hz) / sampleRate);
    second.add(x2, x1);
    third.add(x3, x1);
  }
  return Math.log(PERFECT - second.share) - Math.log(PERFECT - third.share);
}

/** Real and imaginary part. */
type Complex = readonly [re: number, im: number];

/** How well one partial keeps its phase against the first. */
class Lock {
  readonly #number: number;
  #re = 0;
  #im = 0;
  #sum = 0;

  constructor(number: number) {
    this.#number = number;
  }

  add([re, im]: Complex, [re1, im1]: Complex): void {
    const amplitude = Math.hypot(re, im);
    const phase = Math.atan2(im, re) - this.#number * Math.atan2(im1, re1);
    this.#re += amplitude * Math.cos(phase);
    this.#im += amplitude * Math.sin(phase);
    this.#sum += amplitude;
  }

  /** 1 where the phase stays, near 0 where it drifts. */
  get share(): number {
    return this.#sum === 0 ? 1 : Math.hypot(this.#re, this.#im) / this.#sum;
  }
}

/** Amplitudes of the first three partials, their phases as from the first sample of the recording. @param turn radians a sample */
function partialsOf(
  signal: Float32Array,
  window: Float64Array,
  at: number,
  turn: number,
): [Complex, Complex, Complex] {
  const stepC = Math.cos(turn);
  const stepS = Math.sin(turn);
  let c = Math.cos(turn * at);
  let s = Math.sin(turn * at);
  let [re1, im1, re2, im2, re3, im3] = [0, 0, 0, 0, 0, 0];
  for (let i = 0; i < signal.length; i++) {
    const value = signal[i] * window[i];
    const c2 = c * c - s * s;
    const s2 = 2 * c * s;
    re1 += value * c;
    im1 -= value * s;
    re2 += value * c2;
    im2 -= value * s2;
    re3 += value * (c * c2 - s * s2);
    im3 -= value * (s * c2 + c * s2);
    [c, s] = [c * stepC - s * stepS, s * stepC + c * stepS];
  }
  return [
    [re1, im1],
    [re2, im2],
    [re3, im3],
  ];
}
