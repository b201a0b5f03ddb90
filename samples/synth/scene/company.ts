import { addInto, levelTo } from '../dsp.ts';
import type { Rng } from '../rng.ts';
import { biquad, whiteNoise } from './degrade.ts';

/** Sounds that keep a player company: a click, somebody talking, a phone being moved. */

/** A click track: short high blips, the first of every four higher. */
export function withClick(
  samples: Float32Array,
  sampleRate: number,
  tempoBpm: number,
  db: number,
  rng: Rng,
): Float32Array {
  const track = new Float32Array(samples.length);
  const highHz = rng.between([1500, 2600]);
  const length = Math.floor(0.03 * sampleRate);
  const step = (60 / tempoBpm) * sampleRate;
  for (let beat = 0; beat * step < track.length; beat++) {
    const hz = beat % 4 === 0 ? highHz : highHz * 0.75;
    const at = Math.floor(beat * step + 0.4 * sampleRate);
    for (let n = 0; n < length && at + n < track.length; n++) {
      track[at + n] = Math.sin((2 * Math.PI * hz * n) / sampleRate) * Math.exp(-n / (0.006 * sampleRate));
    }
  }
  let peak = 0;
  for (const value of samples) peak = Math.max(peak, Math.abs(value));
  const gain = peak * 10 ** (db / 20);
  return addInto(
    samples.slice(),
    track.map((value) => value * gain),
    0,
  );
}

/** First three formants of vowels, Hz (Peterson and Barney, JASA 24, 175-184, 1952, men, rounded). */
const VOWELS = [
  [270, 2290, 3010],
  [390, 1990, 2550],
  [530, 1840, 2480],
  [660, 1720, 2410],
  [730, 1090, 2440],
  [570, 840, 2410],
  [440, 1020, 2240],
  [300, 870, 2240],
  [640, 1190, 2390],
];

/** Something like talk: voiced syllables with moving pitch and formants, hisses between, pauses. RMS about 0.1. */
export function babble(sec: number, sampleRate: number, rng: Rng): Float32Array {
  const out = new Float32Array(Math.floor(sec * sampleRate));
  const baseHz = rng.between([95, 230]);
  const size = baseHz > 160 ? 1.15 : 1;
  let t = 0;
  while (t < sec - 0.1) {
    const syllables = 2 + Math.floor(rng.next() * 6);
    for (let i = 0; i < syllables && t < sec - 0.1; i++) {
      if (rng.chance(0.6)) {
        const hissSec = rng.between([0.04, 0.11]);
        addInto(out, hiss(hissSec, sampleRate, rng), Math.floor(t * sampleRate));
        t += hissSec * 0.8;
      }
      const voicedSec = rng.between([0.07, 0.24]);
      const falling = 1 - (0.18 * i) / syllables;
      const from = baseHz * falling * rng.between([0.9, 1.25]);
      const to = from * rng.between([0.8, 1.12]);
      addInto(out, vowel(voicedSec, from, to, size, sampleRate, rng), Math.floor(t * sampleRate));
      t += voicedSec + rng.between([0, 0.05]);
    }
    t += rng.between([0.1, 0.45]);
  }
  return levelTo(out, 0.1);
}

function vowel(
  sec: number,
  fromHz: number,
  toHz: number,
  size: number,
  sampleRate: number,
  rng: Rng,
): Float32Array {
  const length = Math.floor(sec * sampleRate);
  const source = new Float32Array(length);
  let phase = 0;
  let jitter = 0;
  for (let n = 0; n < length; n++) {
    const u = n / length;
    jitter = 0.999 * jitter + 0.0006 * rng.normal();
    phase += ((fromHz + (toHz - fromHz) * u) * (1 + jitter)) / sampleRate;
    const cycle = phase % 1;
    // Rosenberg's glottal pulse, derivative: open for 0.6 of the cycle.
    const flow =
      cycle < 0.4
        ? Math.sin((Math.PI * cycle) / 0.4)
        : cycle < 0.6
          ? -3 * Math.sin((Math.PI * (cycle - 0.4)) / 0.2)
          : 0;
    source[n] =
      flow * Math.sin(Math.PI * Math.min(1, Math.min(u, 1 - u) * 5 + 0.02) * 0.5) + 0.02 * rng.normal();
  }
  const from = rng.pick(VOWELS);
  const to = rng.pick(VOWELS);
  const out = new Float32Array(length);
  for (let formant = 0; formant < 3; formant++) {
    const width = 60 + 40 * formant;
    let y1 = 0;
    let y2 = 0;
    for (let n = 0; n < length; n++) {
      const hz = size * (from[formant] + (to[formant] - from[formant]) * (n / length));
      const radius = Math.exp((-Math.PI * width) / sampleRate);
      const y =
        source[n] + 2 * radius * Math.cos((2 * Math.PI * hz) / sampleRate) * y1 - radius * radius * y2;
      y2 = y1;
      y1 = y;
      out[n] += (y * (1 - radius) * 4) / (1 + formant);
    }
  }
  return out;
}

function hiss(sec: number, sampleRate: number, rng: Rng): Float32Array {
  const noise = biquad(
    whiteNoise(Math.floor(sec * sampleRate), rng),
    sampleRate,
    rng.between([1500, 5000]),
    'high',
  );
  const gain = rng.between([0.03, 0.2]);
  return noise.map((value, n) => value * gain * Math.sin((Math.PI * n) / noise.length));
}

/** Knocks, rubs and button presses. RMS follows from their number; single knocks peak near 0.5. */
export function handling(sec: number, sampleRate: number, rng: Rng): Float32Array {
  const out = new Float32Array(Math.floor(sec * sampleRate));
  const count = Math.max(1, Math.round(sec * rng.between([0.8, 2.5])));
  for (let i = 0; i < count; i++) {
    const at = Math.floor(rng.next() * out.length);
    if (rng.chance(0.6)) addInto(out, knock(sampleRate, rng), at);
    else {
      const rub = biquad(
        whiteNoise(Math.floor(rng.between([0.1, 0.4]) * sampleRate), rng),
        sampleRate,
        rng.between([300, 2000]),
        'low',
      );
      const flutterHz = rng.between([15, 60]);
      const gain = rng.between([0.05, 0.3]);
      addInto(
        out,
        rub.map(
          (v, n) =>
            v *
            gain *
            Math.sin((Math.PI * n) / rub.length) *
            (0.6 + 0.4 * Math.sin((2 * Math.PI * flutterHz * n) / sampleRate)),
        ),
        at,
      );
    }
  }
  return out;
}

function knock(sampleRate: number, rng: Rng): Float32Array {
  const out = new Float32Array(Math.floor(0.12 * sampleRate));
  const gain = rng.between([0.15, 0.5]);
  const modes = Array.from({ length: 4 }, () => ({
    hz: rng.between([70, 1800]),
    sec: rng.between([0.004, 0.03]),
  }));
  for (const mode of modes) {
    for (let n = 0; n < out.length; n++) {
      const t = n / sampleRate;
      out[n] += (gain / modes.length) * Math.sin(2 * Math.PI * mode.hz * t) * Math.exp(-t / mode.sec);
    }
  }
  return out;
}
