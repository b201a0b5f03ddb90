import { addInto, convolve, levelTo, resample, rms } from '../dsp.ts';
import type { Range, Rng } from '../rng.ts';

/** A room: early reflections and a tail of noise that decays by 60 dB in `rt60Sec`. */
export interface Room {
  readonly rt60Sec: number;
  /** Level of the direct sound relative to everything that follows it. */
  readonly directToReverbDb: number;
}

/** Convolves with a synthetic room. The direct sound keeps its place and level. */
export function inRoom(samples: Float32Array, sampleRate: number, room: Room, rng: Rng): Float32Array {
  const length = Math.ceil(room.rt60Sec * 1.1 * sampleRate);
  const response = new Float32Array(length);
  for (let i = 0; i < 9; i++) {
    const at = Math.floor(rng.between([0.0015, 0.045]) * sampleRate);
    response[at] += (rng.chance(0.5) ? 1 : -1) * rng.between([0.3, 1]) * 3;
  }
  // Air and walls take the highest parts first: the tail is low-passed more and more.
  let smoothed = 0;
  const start = Math.floor(0.004 * sampleRate);
  for (let n = start; n < length; n++) {
    const t = n / sampleRate;
    const damping = Math.max(0.12, 0.75 - (0.5 * t) / room.rt60Sec);
    smoothed += damping * (rng.normal() - smoothed);
    response[n] += (smoothed / Math.sqrt(damping / (2 - damping))) * 10 ** ((-3 * t) / room.rt60Sec);
  }
  let energy = 0;
  for (const value of response) energy += value * value;
  const scale = Math.sqrt(10 ** (-room.directToReverbDb / 10) / energy);
  for (let n = 0; n < length; n++) response[n] *= scale;
  response[0] = 1;
  return convolve(samples, response).subarray(0, samples.length + Math.floor(length / 2));
}

/** Keeps what lies between two frequencies: three two-pole Butterworth filters in series on each side. */
export function bandPass(samples: Float32Array, sampleRate: number, [low, high]: Range): Float32Array {
  let out = samples;
  for (let pass = 0; pass < 3; pass++) {
    out = biquad(out, sampleRate, low, 'high');
    if (high < sampleRate * 0.45) out = biquad(out, sampleRate, high, 'low');
  }
  return out;
}

/** Two-pole Butterworth (bilinear transform, Q = 1/√2). */
export function biquad(
  samples: Float32Array,
  sampleRate: number,
  cornerHz: number,
  kind: 'low' | 'high',
): Float32Array {
  const w = Math.tan((Math.PI * cornerHz) / sampleRate);
  const norm = 1 / (1 + Math.SQRT2 * w + w * w);
  const b0 = kind === 'low' ? w * w * norm : norm;
  const b1 = kind === 'low' ? 2 * b0 : -2 * b0;
  const a1 = 2 * (w * w - 1) * norm;
  const a2 = (1 - Math.SQRT2 * w + w * w) * norm;
  const out = new Float32Array(samples.length);
  let s1 = 0;
  let s2 = 0;
  for (let n = 0; n < samples.length; n++) {
    const x = samples[n];
    const y = b0 * x + s1;
    s1 = b1 * x - a1 * y + s2;
    s2 = b0 * x - a2 * y;
    out[n] = y;
  }
  return out;
}

/**
 * A phone's levelling: gain that falls fast when it is loud and rises slowly when it is soft.
 * @param turnedUp whether it was quiet before the first sample, so that the gain begins at its most
 */
export function levelled(
  samples: Float32Array,
  sampleRate: number,
  rng: Rng,
  turnedUp = false,
): Float32Array {
  const target = 0.12;
  const fall = 1 - Math.exp(-1 / (rng.between([0.004, 0.02]) * sampleRate));
  const rise = 1 - Math.exp(-1 / (rng.between([0.15, 0.6]) * sampleRate));
  const strength = rng.between([0.4, 0.8]);
  const mostGain = 10 ** (rng.between([10, 20]) / 20);
  const out = new Float32Array(samples.length);
  const scale = target / Math.max(1e-6, rms(samples));
  let envelope = turnedUp ? 0 : target;
  for (let n = 0; n < samples.length; n++) {
    const x = samples[n] * scale;
    const magnitude = Math.abs(x);
    envelope += (magnitude > envelope ? fall : rise) * (magnitude - envelope);
    out[n] = x * Math.min(mostGain, (target / Math.max(envelope, 1e-4)) ** strength);
  }
  return out;
}

/** Adds noise at this signal-to-noise ratio (over the whole take). */
export function withNoise(
  samples: Float32Array,
  snrDb: number,
  kind: 'white' | 'pink',
  rng: Rng,
): Float32Array {
  const noise = kind === 'white' ? whiteNoise(samples.length, rng) : pinkNoise(samples.length, rng);
  levelTo(noise, rms(samples) * 10 ** (-snrDb / 20));
  return addInto(samples.slice(), noise, 0);
}

export function whiteNoise(length: number, rng: Rng): Float32Array {
  return Float32Array.from({ length }, () => rng.next() * 2 - 1);
}

/** Noise that falls by 3 dB an octave: seven one-pole filters on white noise (P. Kellet's coefficients, 1999). */
export function pinkNoise(length: number, rng: Rng): Float32Array {
  const pole = [0.99886, 0.99332, 0.969, 0.8665, 0.55, -0.7616];
  const gain = [0.0555179, 0.0750759, 0.153852, 0.3104856, 0.5329522, -0.016898];
  const state = new Float64Array(6);
  let last = 0;
  return Float32Array.from({ length }, () => {
    const white = rng.next() * 2 - 1;
    let sum = last + white * 0.5362;
    for (let i = 0; i < 6; i++) {
      state[i] = pole[i] * state[i] + gain[i] * white;
      sum += state[i];
    }
    last = white * 0.115926;
    return sum * 0.11;
  });
}

/** Mains hum with its harmonics, `db` relative to the take. */
export function withHum(
  samples: Float32Array,
  sampleRate: number,
  mainsHz: 50 | 60,
  db: number,
  rng: Rng,
): Float32Array {
  const hum = new Float32Array(samples.length);
  for (let k = 1; k <= 12; k++) {
    const amplitude = rng.between([0.2, 1]) / k ** 0.8;
    const phase = rng.between([0, 2 * Math.PI]);
    for (let n = 0; n < hum.length; n++) {
      hum[n] += amplitude * Math.sin((2 * Math.PI * k * mainsHz * n) / sampleRate + phase);
    }
  }
  levelTo(hum, rms(samples) * 10 ** (db / 20));
  return addInto(samples.slice(), hum, 0);
}

/** Amplifies until this share of the peak is clipped. */
export function clipped(samples: Float32Array, share: number): Float32Array {
  let peak = 0;
  for (const value of samples) peak = Math.max(peak, Math.abs(value));
  const limit = peak * (1 - share);
  return samples.map((value) => Math.max(-limit, Math.min(limit, value)));
}

/** Plays it back `percent` faster (pitch and time): times are divided by 1 + percent / 100. */
export function speeded(samples: Float32Array, percent: number): Float32Array {
  return resample(samples, 1 + percent / 100);
}

/** Scales to this peak. */
export function peakTo(samples: Float32Array, peak: number): Float32Array {
  let most = 0;
  for (const value of samples) most = Math.max(most, Math.abs(value));
  return most === 0 ? samples : samples.map((value) => (value * peak) / most);
}
