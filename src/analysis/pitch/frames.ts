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

/** Number of candidates per frame. */
export const CANDIDATES = 8;

/** Time from frame to frame: onsets are judged within 50 ms, and vibrato (up to 8.5 Hz) still has a dozen frames per wave. */
const HOP_SEC = 0.01;

/** Below this pitch the long window is needed to separate the harmonics; above it, the short one reacts faster. */
const CROSSOVER_HZ = 420;
const LONG_WINDOW_SEC = 0.0928;
const SHORT_WINDOW_SEC = 0.0464;

/** Two quads of frames: each long spectrum serves two frames. */
const FRAMES_AT_ONCE = 2 * LANES;
/** Frames per chunk; a multiple of FRAMES_AT_ONCE. */
const CHUNK_FRAMES = 2000;
/** Evidence above which a local maximum is a candidate. */
const WEAKEST_PEAK = 0.05;
/**
 * The network examines a candidate only if it has this much evidence, and this share of the strongest in its frame. In 59
 * takes, weaker candidates make up one in seven of all blocks examined, and in only 2 of those 9,800 a note sounded.
 */
const WEAKEST_LOOK = 0.3;
const WEAKEST_LOOK_SHARE = 0.25;
/** Memory for tables and spectra, twice what they need at most. */
const KERNEL_BYTES_PER_HZ = 32;

/** For the reference magnitude: the number of spectra, the range of pitches, and the share of their strongest octave. */
const REFERENCE_SPECTRA = 400;
const LOWEST_REFERENCE_HZ = 150;
const REFERENCE_SHARE = 0.1;
/** Relative to full scale; keeps the reference above zero in digital silence. */
const QUIETEST_REFERENCE = 1e-6;

/**
 * What was heard every 10 ms, as parallel arrays; frame `t` is centred on `t * hopSec`. The candidates of frame `t` begin at
 * `t * CANDIDATES`, strongest first; a strength of 0 means no candidate.
 */
export interface Candidates {
  readonly hopSec: number;
  readonly count: number;
  /** Real-valued MIDI number (A4 = 440 Hz) of each candidate. */
  readonly candidateMidi: Float32Array;
  /** Harmonic evidence for each candidate (see Salience). */
  readonly candidateStrength: Float32Array;
}

/** Candidates, and what the network hears. */
export interface Frames extends Candidates {
  readonly evidence: PitchEvidence;
}

/** Measures all frames of a recording relative to its reference magnitude. */
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

/** Arrays for the candidates of this many frames. */
function emptyCandidates(count: number): Candidates {
  return {
    hopSec: HOP_SEC,
    count,
    candidateMidi: sharedFloats(count * CANDIDATES),
    candidateStrength: sharedFloats(count * CANDIDATES),
  };
}

/** Shared between all threads of a pool. */
const sharedFloats = (count: number): Float32Array => new Float32Array(new SharedArrayBuffer(4 * count));

/** Fills in the candidates and the evidence of frames; no two threads fill the same ones. */
export const HEAR_FRAMES: ParallelStage<{ readonly frames: Frames; readonly reference: number }, void> = {
  name: 'hear frames',
  chunkSize: CHUNK_FRAMES,
  begin(samples, { frames, reference }) {
    const meter = new FrameMeter(samples, reference, frames.evidence.offset);
    return (from, to) => meter.fill(from, to, frames);
  },
};

/** Evidence above which a frame is certainly pitched. */
const SURE_STRENGTH = 1.8;
/** Pitch is averaged over this many frames, more than one cycle of a vibrato; the tuning is taken from at most so many stretches. */
const TUNING_FRAMES = 32;
const TUNING_GROUPS = 75;
/** Frames further than this from the middle one, in semitones, belong to another note; with fewer than this share there is no pitch. */
const SAME_NOTE = 0.75;
const LEAST_SHARE = 0.6;

/**
 * How far the sounding pitches lie from equal temperament at A4 = 440 Hz, in semitones, [-0.5, 0.5): the circular mean of the
 * mean pitches of short stretches, so that a vibrato counts as the pitch around which it swings; 0 if there are none.
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

/** The tuning offset of stretches sampled from all over the recording. */
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

/** Measures several frames at a time. */
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
   * @param reference  see `referenceMagnitude`
   * @param offset  see PitchEvidence; null if only candidates are wanted
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

  /** Fills in the candidates and the evidence of frames [from, to), at most CHUNK_FRAMES. */
  fill(from: number, to: number, frames: Frames): void {
    const network = this.#network;
    network?.begin();
    const origin = from - HALO;
    for (let t = origin; t < to + HALO; t += FRAMES_AT_ONCE) this.measure(t, frames, { from, to, origin });
    network?.fill(from, to, frames.evidence);
  }

  /**
   * Measures `FRAMES_AT_ONCE` frames from `t` on.
   * @param shift    frame `t` is stored as this one; as `t` if omitted
   * @param from,to  only frames [from, to) are stored
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
    // Low pitches are measured in every other frame, and shared with the frames between.
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
 * The magnitude that counts as "something there": a share of the strongest octave of the take's mean spectrum. It is the same
 * for all frequencies; weighting each by its own mean was tried, and raises noise to the level of partials.
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
    addLanes(sum, power, lanes);
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

/** A loop of its own, which V8 compiles without all that surrounds it. */
function addLanes(sum: Float64Array, power: Float32Array, lanes: number): void {
  for (let k = 1; k < sum.length; k++) {
    for (let lane = 0; lane < lanes; lane++) sum[k] += power[LANES * k + lane];
  }
}
