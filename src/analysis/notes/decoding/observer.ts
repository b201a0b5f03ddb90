import { Kernel } from '../../../kernel.ts';
import { quantile } from '../../../statistics.ts';
import { rowOf } from '../../pitch/evidence.ts';
import { CANDIDATES, type Frames } from '../../pitch/frames.ts';
import type { PitchState, ReedSet } from '../states.ts';
import { NETWORK_ROWS, NetworkFrame, ROW_MARGIN } from './network-frame.ts';
import type { SegmentOptions } from './segment-options.ts';
import { attackState, firstSet, heldState, SILENCE } from './segment-states.ts';
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

/** How far above its pitch a note may begin, in semitones. */
const ATTACK_ABOVE_SEMITONES = 0.7;

/** Neighbouring frames overlap, so their evidence is not independent: it counts once per stretch of this length. */
const EVIDENCE_STEP_SEC = 0.005;

/** Pitches in ascending order, and the state of each. */
interface AscendingPitches {
  readonly midi: Float64Array;
  readonly pitch: Int32Array;
  /** For each whole semitone, the first pitch that is no more than `reach` below it. */
  readonly first: Int32Array;
}

/** MIDI numbers lie below this. */
const SEMITONES = 128;

/** @param reach  how far below the heard pitch a state's pitch may lie, in semitones */
function ascendingPitches(pitches: readonly PitchState[], reach: number): AscendingPitches {
  const order = [...pitches.keys()].sort((a, b) => pitches[a].midi - pitches[b].midi);
  const midi = Float64Array.from(order, (i) => pitches[i].midi);
  const first = Int32Array.from({ length: SEMITONES }, (_, semitone) => {
    const found = midi.findIndex((pitch) => pitch >= semitone - reach);
    return found < 0 ? midi.length : found;
  });
  return { midi, pitch: Int32Array.from(order), first };
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
  readonly #threshold: number;
  readonly #ascending: AscendingPitches;
  readonly #kernel: Kernel;
  readonly #rowsAt: number;
  /** For each pitch, what the network's evidence for the rows below it loses when it counts for its attack, nearest first. */
  readonly #belowCostsAt: number;
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
    this.#ascending = ascendingPitches(pitches, options.reachSemitones);
    this.#threshold = soundThreshold(frames, options.threshold);
    const states = firstSet(pitches.length) + sets.length;
    const kernel = new Kernel(KERNEL_BYTES_PER_STATE * (states + NETWORK_ROWS));
    this.#kernel = kernel;
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
    this.#sets = new SetScores(kernel, frames, pitches, sets, options, this.#heard, scoresAt, begunAt);
  }

  /** Fills in the evidence for each state in frame `t`. */
  observe(t: number, scores: Float64Array): void {
    const { networkWeight, attackCost, onsetWeight } = this.#options;
    const heard = this.#heard;
    const own = this.#scores;
    this.#comb(t, own);
    heard.read(this.#frames.evidence, t);
    this.#sets.score();
    this.#kernel.code.hearPitches(
      this.#ascending.midi.length,
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

  /** The comb's evidence above the noise: around the pitch of held states, from below it for attack states. */
  #comb(t: number, scores: Float64Array): void {
    const { reachSemitones, attackReachSemitones, deviationCost, attackDeviationCost, ceiling, combWeight } =
      this.#options;
    const { midi, pitch, first: firstNear } = this.#ascending;
    scores.fill(0);
    const first = t * CANDIDATES;
    const threshold = this.#threshold;
    const shadow = this.#options.threshold - threshold;
    const { candidateMidi, candidateStrength } = this.#frames;
    for (let c = first; c < first + CANDIDATES; c++) {
      // Only the strongest candidate gains from a low threshold: the others may be its side effects.
      const strength = Math.min(ceiling, candidateStrength[c]) - (c > first ? shadow : 0);
      if (strength <= 0) break;
      const heard = candidateMidi[c];
      let k = firstNear[Math.floor(heard)];
      while (k < midi.length && heard - midi[k] > reachSemitones) k++;
      for (; k < midi.length; k++) {
        const deviation = heard - midi[k];
        if (deviation < -attackReachSemitones) break;
        const i = pitch[k];
        const square = deviation * deviation;
        if (deviation >= -reachSemitones) {
          const held = strength - deviationCost * square;
          if (held > scores[heldState(i)]) scores[heldState(i)] = held;
        }
        if (deviation < ATTACK_ABOVE_SEMITONES) {
          const attack = strength - attackDeviationCost * square;
          if (attack > scores[attackState(i)]) scores[attackState(i)] = attack;
        }
      }
    }
    const weight = (combWeight * this.#frames.hopSec) / EVIDENCE_STEP_SEC;
    for (let i = 0; i < midi.length; i++) {
      scores[heldState(i)] = weight * (scores[heldState(i)] - threshold);
      scores[attackState(i)] = weight * (scores[attackState(i)] - threshold);
    }
  }
}
