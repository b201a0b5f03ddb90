import { seededRng } from '../../samples/synth/rng.ts';
import { whiteNoise } from '../../samples/synth/scene/degrade.ts';
import { analyseFrames, CANDIDATES, type Frames } from '../../src/analysis/pitch/frames.ts';
import { Samples } from '../../src/audio/samples.ts';

/** Amplitudes of the partials, first partial first. */
export type Partials = (k: number) => number;

/** Harmonic spectra like those of reeds, and the ones that lead pitch trackers into the wrong octave. */
export const REED_SPECTRA: Readonly<Record<string, Partials>> = {
  falling: (k) => 1 / k,
  'weak fundamental': (k) => (k === 1 ? 0.08 : 1 / k),
  'no fundamental': (k) => (k === 1 ? 0 : 1 / Math.sqrt(k)),
  'odd partials strong': (k) => (k % 2 === 1 ? 1 / k : 0.15 / k),
  'second partial strong': (k) => (k === 2 ? 2 : 1 / k),
};

/**
 * A tone with these partials below 0.45 of the rate, RMS 0.2, phases fixed by their number so that the peaks don't
 * pile up. `f0At` gives Hz at a time in seconds, for tones that move.
 */
export function tone(
  f0: number | ((sec: number) => number),
  partials: Partials,
  sec: number,
  sampleRate: number,
): Float32Array {
  const f0At = typeof f0 === 'number' ? () => f0 : f0;
  const out = new Float64Array(Math.round(sec * sampleRate));
  let highest = 0;
  for (let n = 0; n < out.length; n += 32) highest = Math.max(highest, f0At(n / sampleRate));
  const count = Math.max(1, Math.min(24, Math.floor((0.45 * sampleRate) / highest)));
  const amplitude = Array.from({ length: count }, (_, i) => partials(i + 1));
  let cycles = 0;
  for (let n = 0; n < out.length; n++) {
    for (let k = 1; k <= count; k++) {
      if (amplitude[k - 1] !== 0) out[n] += amplitude[k - 1] * Math.sin(2 * Math.PI * k * cycles + k * k);
    }
    cycles += f0At((n + 0.5) / sampleRate) / sampleRate;
  }
  const power = amplitude.reduce((sum, a) => sum + (a * a) / 2, 0);
  return Float32Array.from(out, (value) => (value * 0.2) / Math.sqrt(power));
}

/** White noise of this RMS. */
export function noise(rms: number, length: number, seed = 1): Float32Array {
  return whiteNoise(length, seededRng(seed)).map((value) => value * rms * Math.sqrt(3));
}

export const mixed = (a: Float32Array, b: Float32Array): Float32Array => a.map((value, n) => value + b[n]);

export const noPause = async (): Promise<void> => {};

export const framesOf = (data: Float32Array, sampleRate: number): Promise<Frames> =>
  analyseFrames(Samples.from(data, sampleRate), noPause);

/** The strongest candidate of a frame as a real-valued MIDI number; null when nothing was heard. */
export function strongest(frames: Frames, frame: number): { midi: number; strength: number } | null {
  const strength = frames.candidateStrength[frame * CANDIDATES];
  return strength > 0 ? { midi: frames.candidateMidi[frame * CANDIDATES], strength } : null;
}
