import type { Samples } from '../../audio/samples.ts';
import { hannWindow } from '../pitch/spectrum.ts';

/** Length of the Hann windows, enough to separate the partials of the lowest reeds, and their distance, in seconds. */
const WINDOW_SEC = 0.05;
const HOP_SEC = 0.02;
/** What is left out at the start, for the attack, and at the end, for the room, in seconds. */
const ATTACK_SEC = 0.03;
const RELEASE_SEC = 0.02;
/** With fewer windows than this there is no answer. */
const LEAST_WINDOWS = 4;
/** Keeps the logarithm finite for a perfect lock. */
const PERFECT = 1.02;

/**
 * How much more freely the second partial of a note moves relative to the first than the third does: ln of the ratio of how
 * far each is from a perfect lock, -4 to 4; 0 if the note is too short. All partials of one reed are locked in phase, since
 * its motion is periodic (Fletcher, "Mode locking in nonlinearly excited inharmonic musical oscillators", JASA 64, 1978).
 * Another reed an octave above is independent, and most of the second partial is its sound. Rooms loosen both alike.
 * @param f0Hz  of the note, within about 50 cents
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

/** How steadily one partial keeps its phase relative to the first. */
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

  /** 1 if the phase is constant, near 0 if it drifts. */
  get share(): number {
    return this.#sum === 0 ? 1 : Math.hypot(this.#re, this.#im) / this.#sum;
  }
}

/** Complex amplitudes of the first three partials, with phases relative to the first sample of the recording. @param turn  radians per sample */
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
  let re1 = 0;
  let im1 = 0;
  let re2 = 0;
  let im2 = 0;
  let re3 = 0;
  let im3 = 0;
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
    const turned = c * stepC - s * stepS;
    s = s * stepC + c * stepS;
    c = turned;
  }
  return [
    [re1, im1],
    [re2, im2],
    [re3, im3],
  ];
}
