import { addInto, levelTo, rms } from '../dsp.ts';
import type { Rng } from '../rng.ts';
import { biquad, pinkNoise } from './degrade.ts';

/** What else is heard where people practise: rooms that are not silent, and various metronomes. */

/** Noise of a lived-in room: pink and darker, swelling as traffic does, with the whine of a fan or fridge. RMS 1. */
export function livedInNoise(length: number, sampleRate: number, rng: Rng): Float32Array {
  const pink = levelTo(pinkNoise(length, rng), 1);
  const dark = levelTo(biquad(pinkNoise(length, rng), sampleRate, rng.between([150, 600]), 'low'), 1);
  const darkShare = rng.between([0.3, 1.2]);
  const swell = { hz: rng.between([0.05, 0.3]), db: rng.between([0, 4]), phase: rng.between([0, 6.28]) };
  const fanHz = rng.between([90, 260]);
  const fan = Array.from({ length: 4 }, (_, k) => ({
    hz: fanHz * (k + 1),
    gain: rng.between([0, 0.12]) / (k + 1),
  }));
  const out = pink.map((value, n) => {
    const t = n / sampleRate;
    const swelled = 10 ** ((swell.db * Math.sin(2 * Math.PI * swell.hz * t + swell.phase)) / 20);
    const whine = fan.reduce((sum, { hz, gain }) => sum + gain * Math.sin(2 * Math.PI * hz * t), 0);
    return swelled * (value + darkShare * dark[n]) + whine;
  });
  return levelTo(out, 1);
}

export type Metronome = 'beep' | 'wood' | 'noise';

/**
 * A metronome running along: beeps, a wooden box or hi-hat noise.
 * @param perBeat strokes a beat; those between the beats are softer
 * @param db peak against the take's peak
 */
export function withMetronome(
  samples: Float32Array,
  sampleRate: number,
  tempoBpm: number,
  make: Metronome,
  perBeat: number,
  db: number,
  rng: Rng,
): Float32Array {
  const track = new Float32Array(samples.length);
  const hz = make === 'beep' ? rng.between([700, 2200]) : rng.between([500, 1400]);
  const stepSec = 60 / tempoBpm / perBeat;
  for (let stroke = 0; stroke * stepSec * sampleRate < track.length; stroke++) {
    const onBeat = stroke % perBeat === 0;
    const accented = onBeat && (stroke / perBeat) % 4 === 0;
    const gain = accented ? 1 : onBeat ? 0.7 : 0.35;
    const sound = strokeOf(make, accented ? hz * 1.4 : hz, sampleRate, rng);
    addInto(
      track,
      sound.map((value) => value * gain),
      Math.floor((stroke * stepSec + 0.4) * sampleRate),
    );
  }
  const peak = (of: Float32Array): number => of.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  const scale = (peak(samples) * 10 ** (db / 20)) / Math.max(1e-9, peak(track));
  return addInto(
    track.map((value) => value * scale),
    samples,
    0,
  );
}

function strokeOf(make: Metronome, hz: number, sampleRate: number, rng: Rng): Float32Array {
  const length = Math.floor(0.08 * sampleRate);
  const t = (n: number): number => n / sampleRate;
  if (make === 'beep') {
    // Square-edged: 25 to 45 ms of tone that starts and stops within two milliseconds.
    const sec = 0.035;
    return Float32Array.from({ length }, (_, n) => {
      const edge = Math.max(0, Math.min(1, t(n) / 0.002, (sec - t(n)) / 0.002));
      return edge * Math.sin(2 * Math.PI * hz * t(n));
    });
  }
  if (make === 'wood') {
    return Float32Array.from(
      { length },
      (_, n) =>
        Math.sin(2 * Math.PI * hz * t(n)) * Math.exp(-t(n) / 0.012) +
        0.5 * Math.sin(2 * Math.PI * hz * 2.76 * t(n)) * Math.exp(-t(n) / 0.005),
    );
  }
  const hat = biquad(
    Float32Array.from({ length }, () => rng.normal()),
    sampleRate,
    5000,
    'high',
  );
  return hat.map((value, n) => value * Math.exp(-t(n) / 0.015));
}

/** Adds the noise of a lived-in room at this signal-to-noise ratio over the whole take. */
export function withRoomNoise(
  samples: Float32Array,
  sampleRate: number,
  snrDb: number,
  rng: Rng,
): Float32Array {
  const noise = livedInNoise(samples.length, sampleRate, rng);
  levelTo(noise, rms(samples) * 10 ** (-snrDb / 20));
  return addInto(samples.slice(), noise, 0);
}
