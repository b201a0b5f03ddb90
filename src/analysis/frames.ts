import type { Samples } from '../audio/samples.ts';
import { Kernel } from '../kernel.ts';
import { hzToMidi } from '../units.ts';
import { GRID_SIZE, midiToStep, stepToMidi } from './pitch-grid.ts';
import { LANES } from './quad-transform.ts';
import { Salience } from './salience.ts';
import { SpectrumQuad } from './spectrum.ts';

/** Candidates kept in a frame. */
export const CANDIDATES = 8;

export const HOP_SEC = 0.01;

/** Below this pitch the long window is needed to part the harmonics, above it the short one is quicker. */
const CROSSOVER_HZ = 420;
const LONG_WINDOW_SEC = 0.0928;
const SHORT_WINDOW_SEC = 0.0464;

/** Two quads of frames: each long spectrum serves two. */
const FRAMES_AT_ONCE = 2 * LANES;
/** Frames between two pauses; a multiple of those at once. */
const PAUSE_EVERY = 2000;
/** Evidence from which a local maximum is a candidate. */
const WEAKEST_PEAK = 0.05;
/** Room for tables and spectra, twice what they take at most. */
const KERNEL_BYTES_PER_HZ = 32;

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
  const kernel = new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate);
  const long = new SpectrumQuad(kernel, samples, LONG_WINDOW_SEC);
  const short = new SpectrumQuad(kernel, samples, SHORT_WINDOW_SEC);
  const reference = referenceMagnitude(samples, long);
  const strengthAt = kernel.reserve(LANES * (GRID_SIZE + 3));
  const low = new Salience(kernel, long, reference, 0, crossover, strengthAt);
  const high = new Salience(kernel, short, reference, crossover, GRID_SIZE, strengthAt);
  const peaksAt = kernel.reserve(2 * CANDIDATES * LANES);
  for (let t = 0; t < count; t += FRAMES_AT_ONCE) {
    // Low pitches are measured every other frame; those between share them.
    long.transform(t * HOP_SEC, (t + 2) * HOP_SEC, (t + 4) * HOP_SEC, (t + 6) * HOP_SEC);
    low.measure();
    for (let from = t; from < t + 2; from++) {
      short.transform(from * HOP_SEC, (from + 2) * HOP_SEC, (from + 4) * HOP_SEC, (from + 6) * HOP_SEC);
      high.measure();
      kernel.code.peaks(strengthAt, GRID_SIZE, WEAKEST_PEAK, CANDIDATES, peaksAt);
      for (let lane = 0; lane < LANES && from + 2 * lane < count; lane++) {
        const to = (from + 2 * lane) * CANDIDATES;
        const at = peaksAt / 4 + 2 * CANDIDATES * lane;
        for (let c = 0; c < CANDIDATES; c++) {
          const strength = kernel.floats[at + c];
          if (strength === 0) break;
          candidateStrength[to + c] = strength;
          candidateMidi[to + c] = stepToMidi(kernel.floats[at + CANDIDATES + c]);
        }
      }
    }
    if (t % PAUSE_EVERY === 0) await pause(t / count);
  }
  return { hopSec: HOP_SEC, count, candidateMidi, candidateStrength };
}

/**
 * The magnitude that counts as "something there": a share of the strongest octave of the take's mean spectrum.
 * One value for all frequencies: weighing each by its own mean was tried, and lifts noise to the rank of partials.
 */
function referenceMagnitude(samples: Samples, spectrum: SpectrumQuad): number {
  const { binHz } = spectrum;
  const { bins, power } = spectrum.fourier;
  const sum = new Float64Array(bins);
  const stepSec = Math.max(0.05, samples.durationSec / REFERENCE_SPECTRA);
  const measured = 2 * Math.ceil(samples.durationSec / (2 * stepSec));
  for (let i = 0; i < measured; i += LANES) {
    spectrum.transform(i * stepSec, (i + 1) * stepSec, (i + 2) * stepSec, (i + 3) * stepSec);
    spectrum.fourier.fillPower(1, bins);
    const lanes = Math.min(LANES, measured - i);
    for (let k = 1; k < bins; k++) {
      for (let lane = 0; lane < lanes; lane++) sum[k] += power[LANES * k + lane];
    }
  }
  const cumulative = new Float64Array(bins + 1);
  for (let k = 1; k < bins; k++) cumulative[k + 1] = cumulative[k] + sum[k] / measured;
  let highest = 0;
  for (let k = Math.ceil(LOWEST_REFERENCE_HZ / binHz); k * Math.SQRT2 < bins; k++) {
    const from = Math.floor(k / Math.SQRT2);
    const to = Math.min(bins, Math.ceil(k * Math.SQRT2) + 1);
    highest = Math.max(highest, (cumulative[to] - cumulative[from]) / (to - from));
  }
  return Math.max(REFERENCE_SHARE * Math.sqrt(highest), QUIETEST_REFERENCE);
}
