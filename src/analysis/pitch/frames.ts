import type { Samples } from '../../audio/samples.ts';
import { Kernel } from '../../kernel.ts';
import { type ParallelStage, SEQUENTIAL, type WorkerPool } from '../../parallel-stage.ts';
import { hzToMidi } from '../../units.ts';
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
/** Frames of one chunk; a multiple of those at once. */
const CHUNK_FRAMES = 2000;
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
  pool: WorkerPool = SEQUENTIAL,
): Promise<Frames> {
  const count = Math.max(1, Math.floor(samples.durationSec / HOP_SEC) + 1);
  const frames: Frames = {
    hopSec: HOP_SEC,
    count,
    candidateMidi: sharedFloats(count * CANDIDATES),
    candidateStrength: sharedFloats(count * CANDIDATES),
  };
  const kernel = new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate);
  const reference = referenceMagnitude(samples, new SpectrumQuad(kernel, samples, LONG_WINDOW_SEC));
  await pool.run(HEAR_FRAMES, samples, { frames, reference }, count, pause);
  return frames;
}

/** Every thread of a pool reads and writes them. */
const sharedFloats = (count: number): Float32Array => new Float32Array(new SharedArrayBuffer(4 * count));

/** Fills the candidates of frames, which no two threads fill alike. */
export const HEAR_FRAMES: ParallelStage<{ readonly frames: Frames; readonly reference: number }, void> = {
  name: 'hear frames',
  chunkSize: CHUNK_FRAMES,
  begin(samples, { frames, reference }) {
    const meter = new FrameMeter(samples, reference);
    return (from, to) => {
      for (let t = from; t < to; t += FRAMES_AT_ONCE) meter.measure(t, frames);
    };
  },
};

/** Measures some frames at a time. */
class FrameMeter {
  readonly #kernel: Kernel;
  readonly #long: SpectrumQuad;
  readonly #short: SpectrumQuad;
  readonly #low: Salience;
  readonly #high: Salience;
  readonly #strengthAt: number;
  readonly #peaksAt: number;

  /** @param reference see `referenceMagnitude` */
  constructor(samples: Samples, reference: number) {
    const kernel = new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate);
    const crossover = Math.round(midiToStep(hzToMidi(CROSSOVER_HZ)));
    this.#kernel = kernel;
    this.#long = new SpectrumQuad(kernel, samples, LONG_WINDOW_SEC);
    this.#short = new SpectrumQuad(kernel, samples, SHORT_WINDOW_SEC);
    this.#strengthAt = kernel.reserve(LANES * (GRID_SIZE + 3));
    this.#low = new Salience(kernel, this.#long, reference, 0, crossover, this.#strengthAt);
    this.#high = new Salience(kernel, this.#short, reference, crossover, GRID_SIZE, this.#strengthAt);
    this.#peaksAt = kernel.reserve(2 * CANDIDATES * LANES);
  }

  /** Fills `FRAMES_AT_ONCE` frames from `t` on, a multiple of that. */
  measure(t: number, frames: Frames): void {
    const { code } = this.#kernel;
    // Low pitches are measured every other frame; those between share them.
    this.#long.transform(t * HOP_SEC, (t + 2) * HOP_SEC, (t + 4) * HOP_SEC, (t + 6) * HOP_SEC);
    this.#low.measure();
    for (let from = t; from < t + 2; from++) {
      this.#short.transform(from * HOP_SEC, (from + 2) * HOP_SEC, (from + 4) * HOP_SEC, (from + 6) * HOP_SEC);
      this.#high.measure();
      code.peaks(this.#strengthAt, GRID_SIZE, WEAKEST_PEAK, CANDIDATES, this.#peaksAt);
      for (let lane = 0; lane < LANES && from + 2 * lane < frames.count; lane++) {
        this.#keepPeaks(lane, from + 2 * lane, frames);
      }
    }
  }

  #keepPeaks(lane: number, frame: number, { candidateMidi, candidateStrength }: Frames): void {
    const { floats } = this.#kernel;
    const to = frame * CANDIDATES;
    const at = this.#peaksAt / 4 + 2 * CANDIDATES * lane;
    for (let c = 0; c < CANDIDATES; c++) {
      const strength = floats[at + c];
      if (strength === 0) break;
      candidateStrength[to + c] = strength;
      candidateMidi[to + c] = stepToMidi(floats[at + CANDIDATES + c]);
    }
  }
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
