import { Kernel } from '../../../kernel.ts';
import { quantile } from '../../../statistics.ts';
import { rowOf } from '../../pitch/evidence.ts';
import { CANDIDATES, type Frames } from '../../pitch/frames.ts';
import type { PitchState, ReedSet } from '../states.ts';
import { CombScores } from './comb-scores.ts';
import { NETWORK_ROWS, NetworkFrame, ROW_MARGIN } from './network-frame.ts';
import type { SegmentOptions } from './segment-options.ts';
import { attackState, firstSet, SILENCE } from './segment-states.ts';
import { SetScores } from './set-scores.ts';

/** The quietest frames of a take, this share of them, show how high noise alone reaches; a soft note must exceed it by a margin. */
const QUIETEST_SHARE = 0.03;
const ABOVE_NOISE = 0.45;
const LOWEST_THRESHOLD = 0.5;

/** Evidence below which nothing sounds. It is lowered in takes with little noise, so that soft notes are found. */
function soundThreshold(frames: Frames, usual: number): number {
  const strongest = new Float32Array(frames.count);
  for (let t = 0; t < frames.count; t++) strongest[t] = frames.candidateStrength[t * CANDIDATES];
  const noise = quantile(strongest, QUIETEST_SHARE);
  return Math.min(usual, Math.max(LOWEST_THRESHOLD, noise + ABOVE_NOISE));
}

/** A note may begin, and be heard, this many semitones below its pitch. */
const SCOOP_ROWS = 2;
/**
 * What is heard below a pitch may be the way up into it, or a short note of its own: the more so if no reed that gives the
 * pitch can sound so low.
 */
function belowCosts({ slidesFrom }: PitchState, { slideNats, otherReedNats }: SegmentOptions): number[] {
  return Array.from({ length: SCOOP_ROWS }, (_, i) =>
    slidesFrom === undefined ? 0 : i + 1 > Math.round(slidesFrom) ? otherReedNats : slideNats,
  );
}

/** A held pitch may swing into the neighbouring rows, where it counts for less by this, in nats. */
const BESIDE_NATS = 1.5;

/** Memory for scores and rows, and for sets of up to five pitches: twice what they need. */
const KERNEL_BYTES_PER_STATE = 256;

/** Scores the states in each frame, from the comb and from the network. */
export class Observer {
  readonly #frames: Frames;
  readonly #options: SegmentOptions;
  readonly #kernel: Kernel;
  readonly #pitches: number;
  readonly #rowsAt: number;
  /** For each pitch, what the network's evidence for the rows below it loses when it counts for its attack, nearest first. */
  readonly #belowCostsAt: number;
  readonly #comb: CombScores;
  readonly #heard: NetworkFrame;
  readonly #sets: SetScores;
  /** For all states: their evidence, and the evidence for their onset. */
  readonly #scores: Float64Array;
  readonly #begun: Float64Array;
  readonly #pitchScoresAt: number;
  readonly #pitchBegunAt: number;

  constructor(
    frames: Frames,
    pitches: readonly PitchState[],
    sets: readonly ReedSet[],
    options: SegmentOptions,
  ) {
    this.#frames = frames;
    this.#options = options;
    const states = firstSet(pitches.length) + sets.length;
    const kernel = new Kernel(KERNEL_BYTES_PER_STATE * (states + NETWORK_ROWS));
    this.#kernel = kernel;
    this.#pitches = pitches.length;
    const rows = pitches.map(({ midi }) => rowOf(frames.evidence, midi) + ROW_MARGIN);
    this.#rowsAt = kernel.keepWords(
      rows.map((row) => 8 * Math.max(SCOOP_ROWS, Math.min(NETWORK_ROWS - 2, row))),
    );
    this.#belowCostsAt = kernel.keepDoubles(pitches.flatMap((pitch) => belowCosts(pitch, options)));
    this.#heard = new NetworkFrame(kernel);
    const scoresAt = kernel.reserve(2 * states);
    const begunAt = kernel.reserve(2 * states);
    this.#scores = kernel.doublesAt(scoresAt, states);
    this.#begun = kernel.doublesAt(begunAt, states);
    this.#pitchScoresAt = scoresAt + 8 * attackState(0);
    this.#pitchBegunAt = begunAt + 8 * attackState(0);
    const threshold = soundThreshold(frames, options.threshold);
    this.#comb = new CombScores(kernel, frames, pitches, options, threshold, this.#pitchScoresAt);
    this.#sets = new SetScores(kernel, frames, pitches, sets, options, this.#heard, scoresAt, begunAt);
  }

  /** Fills in the evidence for each state in frame `t`. */
  observe(t: number, scores: Float64Array): void {
    const { networkWeight, attackCost, onsetWeight } = this.#options;
    const heard = this.#heard;
    const own = this.#scores;
    this.#comb.score(t);
    heard.read(this.#frames.evidence, t);
    this.#sets.score();
    this.#kernel.code.hearPitches(
      this.#pitches,
      this.#rowsAt,
      SCOOP_ROWS,
      this.#belowCostsAt,
      heard.soundingAt,
      heard.onsetAt,
      BESIDE_NATS,
      networkWeight,
      attackCost,
      onsetWeight,
      this.#pitchScoresAt,
      this.#pitchBegunAt,
    );
    own[SILENCE] = 0;
    scores.set(own);
  }

  /** Makes notes cheaper to begin by what the network heard of onsets in the last observed frame. */
  enter(scores: Float64Array): void {
    scores.set(this.#begun);
  }
}
