import type { Samples } from '../audio/samples.ts';
import { hzToMidi } from '../units.ts';
import { GRID_SIZE, midiToStep, stepToMidi } from './pitch-grid.ts';
import { Salience } from './salience.ts';
import { SpectrumPair } from './spectrum.ts';

/** Candidates kept in a frame. */
export const CANDIDATES = 8;

export const HOP_SEC = 0.01;

/** Below this pitch the long window is needed to part the harmonics, above it the short one is quicker. */
const CROSSOVER_HZ = 420;
const LONG_WINDOW_SEC = 0.0928;
const SHORT_WINDOW_SEC = 0.0464;

/** Frames between two pauses. */
const PAUSE_EVERY = 2000;

/** The reference magnitude: from how many spectra, over which pitches, and which share of their strongest octave. */
const REFERENCE_SPECTRA = 400;
const LOWEST_REFERENCE_HZ = 150;
const REFERENCE_SHARE = 0.1;
/** Full-scale ratio; keeps the reference above zero in digital silence. */
const QUIETEST_REFERENCE = 1e-6;

/**
 * What was heard every 10 ms, as parallel arrays; frame `t` is centred on `t * hopSec`.
 * Candidates of frame `t` stand at `t * CANDIDATES …`, strongest first; a strength of 0 means no candidate.
 */
export interface Frames {
  readonly hopSec: number;
  readonly count: number;
  /** Real-valued MIDI number (A4 = 440 Hz) of each candidate. */
  readonly candidateMidi: Float32Array;
  /** Harmonic evidence of each candidate (see Salience). */
  readonly candidateStrength: Float32Array;
}

/** Measures the frames of a recording against its reference spectrum. */
export async function analyseFrames(
  samples: Samples,
  pause: (fraction: number) => Promise<void>,
): Promise<Frames> {
  const count = Math.max(1, Math.floor(samples.durationSec / HOP_SEC) + 1);
  const candidateMidi = new Float32Array(count * CANDIDATES);
  const candidateStrength = new Float32Array(count * CANDIDATES);
  const crossover = Math.round(midiToStep(hzToMidi(CROSSOVER_HZ)));
  const long = new SpectrumPair(samples, LONG_WINDOW_SEC);
  const short = new SpectrumPair(samples, SHORT_WINDOW_SEC);
  const reference = referenceMagnitude(samples, long);
  const low = new Salience(long.binHz, long.first.length, reference, 0, crossover + 1);
  const high = new Salience(short.binHz, short.first.length, reference, crossover - 1, GRID_SIZE);
  const strength = new Float64Array(GRID_SIZE);
  for (let t = 0; t < count; t += 2) {
    short.measure(t * HOP_SEC, (t + 1) * HOP_SEC);
    if (t % 4 === 0) long.measure(t * HOP_SEC, (t + 2) * HOP_SEC);
    for (let half = 0; half < 2; half++) {
      const frame = t + half;
      if (frame >= count) break;
      high.measure(half === 0 ? short.first : short.second);
      if (half === 0) {
        low.measure(t % 4 === 0 ? long.first : long.second);
      }
      strength.set(low.strength.subarray(0, crossover), 0);
      strength.set(high.strength.subarray(crossover), crossover);
      pickPeaks(strength, candidateMidi, candidateStrength, frame * CANDIDATES);
    }
    if (t % PAUSE_EVERY === 0) await pause(t / count);
  }
  return { hopSec: HOP_SEC, count, candidateMidi, candidateStrength };
}

/** Keeps the strongest local maxima, refined by a parabola through three steps. */
function pickPeaks(strength: Float64Array, midi: Float32Array, kept: Float32Array, at: number): void {
  let found = 0;
  for (let step = 1; step < GRID_SIZE - 1; step++) {
    const here = strength[step];
    if (here <= 0.05 || here < strength[step - 1] || here <= strength[step + 1]) continue;
    if (found === CANDIDATES && here <= kept[at + CANDIDATES - 1]) continue;
    const left = strength[step - 1];
    const right = strength[step + 1];
    const shift = (0.5 * (left - right)) / (left - 2 * here + right);
    let slot = found < CANDIDATES ? found++ : CANDIDATES - 1;
    while (slot > 0 && kept[at + slot - 1] < here) {
      kept[at + slot] = kept[at + slot - 1];
      midi[at + slot] = midi[at + slot - 1];
      slot--;
    }
    kept[at + slot] = here;
    midi[at + slot] = stepToMidi(step + shift);
  }
}

/**
 * The magnitude that counts as "something there": a share of the strongest octave of the take's mean spectrum.
 * One value for all frequencies: weighing each by its own mean was tried, and lifts noise to the rank of partials.
 */
function referenceMagnitude(samples: Samples, pair: SpectrumPair): number {
  const bins = pair.first.length;
  const power = new Float64Array(bins);
  const stepSec = Math.max(0.05, samples.durationSec / REFERENCE_SPECTRA);
  let measured = 0;
  for (let sec = 0; sec < samples.durationSec; sec += 2 * stepSec) {
    pair.measure(sec, sec + stepSec);
    measured += 2;
    for (let k = 1; k < bins; k++) power[k] += pair.first[k] ** 2 + pair.second[k] ** 2;
  }
  const cumulative = new Float64Array(bins + 1);
  for (let k = 1; k < bins; k++) cumulative[k + 1] = cumulative[k] + power[k] / measured;
  let highest = 0;
  for (let k = Math.ceil(LOWEST_REFERENCE_HZ / pair.binHz); k * Math.SQRT2 < bins; k++) {
    const from = Math.floor(k / Math.SQRT2);
    const to = Math.min(bins, Math.ceil(k * Math.SQRT2) + 1);
    highest = Math.max(highest, (cumulative[to] - cumulative[from]) / (to - from));
  }
  return Math.max(REFERENCE_SHARE * Math.sqrt(highest), QUIETEST_REFERENCE);
}
