import type { Samples } from '../../audio/samples.ts';
import { Kernel } from '../../kernel.ts';
import { type ParallelStage, SEQUENTIAL, type WorkerPool } from '../../parallel-stage.ts';
import { median } from '../../statistics.ts';
import { hzToMidi, midiToHz } from '../../units.ts';
import { emptyEvidence, type PitchEvidence } from './evidence.ts';
import { GRID_SIZE, midiToStep, stepToMidi } from './pitch-grid.ts';
import { HALO, HIGHEST_LONG_MIDI, networkBytes, PitchNetwork } from './pitch-network.ts';
import { LANES } from './quad-transform.ts';
import { Salience } from './salience.ts';
import { SpectrumQuad } from './spectrum.ts';

/** Candidates kept in a frame. */
export const CANDIDATES = 8;

const HOP_SEC = 0.01;

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
/**
 * Evidence from which the network looks at a candidate, and the share of the frame's strongest that it must have: in 59 takes
 * weaker ones make one in seven of all blocks that are looked at, and a note sounded in 2 of those 9,800.
 */
const WEAKEST_LOOK = 0.3;
const WEAKEST_LOOK_SHARE = 0.25;
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
export interface Candidates {
  readonly hopSec: number;
  readonly count: number;
  /** Real-valued MIDI number (A4 = 440 Hz) of each candidate. */
  readonly candidateMidi: Float32Array;
  /** Harmonic evidence of each candidate (see Salience). */
  readonly candidateStrength: Float32Array;
}

/** Candidates, and what the network hears. */
export interface Frames extends Candidates {
  readonly evidence: PitchEvidence;
}

/** Measures the frames of a recording against its reference spectrum. */
export async function analyseFrames(
  samples: Samples,
  pause: (fraction: number) => Promise<void>,
  pool: WorkerPool = SEQUENTIAL,
): Promise<Frames> {
  const count = Math.max(1, Math.floor(samples.durationSec / HOP_SEC) + 1);
  const kernel = new Kernel(KERNEL_BYTES_PER_HZ * samples.sampleRate);
  const reference = referenceMagnitude(samples, new SpectrumQuad(kernel, samples, LONG_WINDOW_SEC));
  const frames: Frames = {
    ...emptyCandidates(count),
    evidence: emptyEvidence(count, sampledOffset(samples, reference, count)),
  };
  await pool.run(HEAR_FRAMES, samples, { frames, reference }, count, pause);
  return frames;
}

/** Room for the candidates of so many frames. */
function emptyCandidates(count: number): Candidates {
  return {
    hopSec: HOP_SEC,
    count,
    candidateMidi: sharedFloats(count * CANDIDATES),
    candidateStrength: sharedFloats(count * CANDIDATES),
  };
}

/** Every thread of a pool reads and writes them. */
const sharedFloats = (count: number): Float32Array => new Float32Array(new SharedArrayBuffer(4 * count));

/** Fills the candidates and the evidence of frames, which no two threads fill alike. */
export const HEAR_FRAMES: ParallelStage<{ readonly frames: Frames; readonly reference: number }, void> = {
  name: 'hear frames',
  chunkSize: CHUNK_FRAMES,
  begin(samples, { frames, reference }) {
    const meter = new FrameMeter(samples, reference, frames.evidence.offset);
    return (from, to) => meter.fill(from, to, frames);
  },
};

/** Evidence from which a frame counts as surely pitched. */
const SURE_STRENGTH = 1.8;
/** Pitch is averaged over so many frames, more than a turn of a vibrato; the tuning is heard in so many of these at most. */
const TUNING_FRAMES = 32;
const TUNING_GROUPS = 75;
/** Frames further from the middle one, in semitones, are of another note; fewer than this share make no pitch. */
const SAME_NOTE = 0.75;
const LEAST_SHARE = 0.6;

/**
 * How far the sounding pitches lie from equal temperament on A4 = 440 Hz, in semitones, [-0.5, 0.5): circular mean over
 * the mean pitches of short stretches, so that a vibrato counts as the pitch that it swings around; 0 when there are none.
 */
export function tuningOffset({ count, candidateMidi, candidateStrength }: Candidates): number {
  let x = 0;
  let y = 0;
  for (let from = 0; from < count; from += TUNING_FRAMES) {
    const pitches: number[] = [];
    for (let t = from; t < Math.min(count, from + TUNING_FRAMES); t++) {
      if (candidateStrength[t * CANDIDATES] >= SURE_STRENGTH) pitches.push(candidateMidi[t * CANDIDATES]);
    }
    if (pitches.length === 0) continue;
    const middle = median(pitches);
    const near = pitches.filter((midi) => Math.abs(midi - middle) < SAME_NOTE);
    if (near.length < LEAST_SHARE * pitches.length) continue;
    const angle = (2 * Math.PI * near.reduce((sum, midi) => sum + midi, 0)) / near.length;
    x += near.length * Math.cos(angle);
    y += near.length * Math.sin(angle);
  }
  return x === 0 && y === 0 ? 0 : Math.atan2(y, x) / (2 * Math.PI);
}

/** The tuning offset of some stretches from all over the recording. */
function sampledOffset(samples: Samples, reference: number, count: number): number {
  const groups = Math.min(Math.ceil(count / TUNING_FRAMES), TUNING_GROUPS);
  const sampled = emptyCandidates(groups * TUNING_FRAMES);
  const meter = new FrameMeter(samples, reference, null);
  for (let group = 0; group < groups; group++) {
    const from = FRAMES_AT_ONCE * Math.floor((group * count) / FRAMES_AT_ONCE / groups);
    for (let at = 0; at < TUNING_FRAMES; at += FRAMES_AT_ONCE)
      meter.measure(from + at, sampled, { shift: group * TUNING_FRAMES + at });
  }
  return tuningOffset(sampled);
}

/** Measures some frames at a time. */
class FrameMeter {
  readonly #kernel: Kernel;
  readonly #long: SpectrumQuad;
  readonly #short: SpectrumQuad;
  readonly #low: Salience;
  readonly #high: Salience;
  readonly #strengthAt: number;
  readonly #peaksAt: number;
  readonly #network: PitchNetwork | null;
  readonly #offset: number;

  /**
   * @param reference see `referenceMagnitude`
   * @param offset see PitchEvidence; null when only candidates are wanted
   */
  constructor(samples: Samples, reference: number, offset: number | null) {
    const bytes =
      KERNEL_BYTES_PER_HZ * samples.sampleRate + (offset === null ? 0 : networkBytes(CHUNK_FRAMES));
    const kernel = new Kernel(bytes);
    const crossover = Math.round(midiToStep(hzToMidi(CROSSOVER_HZ)));
    this.#kernel = kernel;
    this.#long = new SpectrumQuad(kernel, samples, LONG_WINDOW_SEC);
    this.#short = new SpectrumQuad(kernel, samples, SHORT_WINDOW_SEC);
    this.#strengthAt = kernel.reserve(LANES * (GRID_SIZE + 3));
    const long = { binHz: this.#long.binHz, bins: this.#long.fourier.bins };
    const short = { binHz: this.#short.binHz, bins: this.#short.fourier.bins };
    const [toLong, toShort] =
      offset === null ? [0, 0] : [Math.ceil(midiToHz(HIGHEST_LONG_MIDI + 1) / long.binHz) + 4, short.bins];
    this.#low = new Salience(kernel, this.#long, reference, 0, crossover, toLong, this.#strengthAt);
    this.#high = new Salience(
      kernel,
      this.#short,
      reference,
      crossover,
      GRID_SIZE,
      toShort,
      this.#strengthAt,
    );
    this.#peaksAt = kernel.reserve(2 * CANDIDATES * LANES);
    this.#offset = offset ?? 0;
    this.#network = offset === null ? null : new PitchNetwork(kernel, CHUNK_FRAMES, { long, short }, offset);
  }

  /** Fills the candidates and the evidence of frames [from, to), CHUNK_FRAMES at most. */
  fill(from: number, to: number, frames: Frames): void {
    const network = this.#network;
    network?.begin();
    const origin = from - HALO;
    for (let t = origin; t < to + HALO; t += FRAMES_AT_ONCE) this.measure(t, frames, { from, to, origin });
    network?.fill(from, to, frames.evidence);
  }

  /**
   * Measures `FRAMES_AT_ONCE` frames from `t` on.
   * @param shift    frame `t` is kept as this one; as `t` when missing
   * @param from,to  only frames [from, to) are kept
   * @param origin   first frame that the network sees
   */
  measure(
    t: number,
    kept: Candidates,
    {
      shift,
      from = 0,
      to = Number.POSITIVE_INFINITY,
      origin = 0,
    }: { shift?: number; from?: number; to?: number; origin?: number },
  ): void {
    const { code } = this.#kernel;
    // Low pitches are measured every other frame; those between share them.
    this.#long.transform(t * HOP_SEC, (t + 2) * HOP_SEC, (t + 4) * HOP_SEC, (t + 6) * HOP_SEC);
    this.#low.measure();
    this.#network?.takeSpectra(this.#low.compressedAt, 'long', t - origin);
    for (let first = t; first < t + 2; first++) {
      this.#short.transform(
        first * HOP_SEC,
        (first + 2) * HOP_SEC,
        (first + 4) * HOP_SEC,
        (first + 6) * HOP_SEC,
      );
      this.#high.measure();
      this.#network?.takeSpectra(this.#high.compressedAt, 'short', first - origin);
      code.peaks(this.#strengthAt, GRID_SIZE, WEAKEST_PEAK, CANDIDATES, this.#peaksAt);
      for (let lane = 0; lane < LANES; lane++) {
        const frame = first + 2 * lane;
        const keepAs = shift === undefined ? frame : shift + frame - t;
        const isKept = frame >= from && frame < to && keepAs < kept.count;
        this.#readPeaks(lane, isKept ? keepAs : null, kept, frame - origin);
      }
    }
  }

  #readPeaks(lane: number, frame: number | null, kept: Candidates, networkFrame: number): void {
    const { floats } = this.#kernel;
    const at = this.#peaksAt / 4 + 2 * CANDIDATES * lane;
    const weakest = Math.max(WEAKEST_LOOK, WEAKEST_LOOK_SHARE * floats[at]);
    for (let c = 0; c < CANDIDATES; c++) {
      const strength = floats[at + c];
      if (strength === 0) break;
      const midi = stepToMidi(floats[at + CANDIDATES + c]);
      if (strength > weakest) this.#network?.lookAt(midi - this.#offset, networkFrame);
      if (frame === null) continue;
      kept.candidateStrength[frame * CANDIDATES + c] = strength;
      kept.candidateMidi[frame * CANDIDATES + c] = midi;
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
