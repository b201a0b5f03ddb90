import { type Arc, type Lattice, viterbi } from '../../decode/viterbi.ts';
import { quantile } from '../../statistics.ts';
import { CANDIDATES, type Frames } from '../pitch/frames.ts';

/** A pitch that may sound, as a real-valued MIDI number (A4 = 440 Hz), and what it costs to begin it. */
export interface PitchState {
  readonly midi: number;
  /** Nats added to the cost of a new note. */
  readonly cost: number;
}

/** A stretch of frames in which one pitch sounds: [fromFrame, toFrame). */
export interface Segment {
  readonly midi: number;
  readonly fromFrame: number;
  readonly toFrame: number;
}

export interface SegmentOptions {
  /** Evidence below which nothing is taken to sound, in a take with noise. */
  readonly threshold: number;
  /** Nats for the start of a note. */
  readonly changeCost: number;
  /** Evidence taken off at 100 cents away from the pitch, growing with the square. */
  readonly deviationCost: number;
  /** Widest deviation from its pitch at which a held note is still looked for, in semitones. */
  readonly reachSemitones: number;
  readonly attackReachSemitones: number;
  readonly attackDeviationCost: number;
  readonly attackCost: number;
  readonly ceiling: number;
}

export const SEGMENT_DEFAULTS: SegmentOptions = {
  threshold: 1.0,
  changeCost: 6,
  deviationCost: 0.8,
  reachSemitones: 1.0,
  attackReachSemitones: 2.2,
  attackDeviationCost: 0.1,
  attackCost: 0.3,
  ceiling: 3,
};

/**
 * The most likely sequence of pitches and silences, decoded over all frames at once. Each pitch has an attack
 * state, in which it may still be on its way up (a scoop), and a held state, around which it may swing (vibrato);
 * note states in the manner of Mauch et al., "Computer-aided melody note transcription using the Tony software"
 * (TENOR 2015), with pitches from the instrument instead of a free scale.
 */
export function segment(
  frames: Frames,
  pitches: readonly PitchState[],
  options: SegmentOptions = SEGMENT_DEFAULTS,
): Segment[] {
  const lattice = noteLattice(pitches, options);
  const ascending = ascendingPitches(pitches);
  const threshold = soundThreshold(frames, options.threshold);
  const observe = (t: number, scores: Float64Array): void =>
    observeFrame(frames, t, ascending, options, threshold, scores);
  const path = viterbi(frames.count, lattice, observe);
  const segments: Segment[] = [];
  let from = 0;
  for (let t = 1; t <= frames.count; t++) {
    const before = path[t - 1];
    if (
      t < frames.count &&
      pitchOf(path[t]) === pitchOf(before) &&
      !(isAttack(path[t]) && !isAttack(before))
    ) {
      continue;
    }
    if (before !== SILENCE)
      segments.push({ midi: pitches[pitchOf(before)].midi, fromFrame: from, toFrame: t });
    from = t;
  }
  return segments;
}

/** The quietest share of a take shows what noise alone reaches; a soft note must stand out from it by so much. */
const QUIETEST_SHARE = 0.03;
const ABOVE_NOISE = 0.45;
const LOWEST_THRESHOLD = 0.5;

/** Evidence below which nothing is taken to sound: less than usual in a take with little noise, so that soft notes count. */
function soundThreshold(frames: Frames, usual: number): number {
  const strongest = new Float32Array(frames.count);
  for (let t = 0; t < frames.count; t++) strongest[t] = frames.candidateStrength[t * CANDIDATES];
  const noise = quantile(strongest, QUIETEST_SHARE);
  return Math.min(usual, Math.max(LOWEST_THRESHOLD, noise + ABOVE_NOISE));
}

/** How far above its pitch a note may begin, in semitones. */
const ATTACK_ABOVE_SEMITONES = 0.7;

/** Neighbouring frames overlap and repeat each other: evidence counts once for each stretch of this length. */
const EVIDENCE_STEP_SEC = 0.005;

const SILENCE = 0;
const attackState = (pitch: number): number => 1 + 2 * pitch;
const heldState = (pitch: number): number => 2 + 2 * pitch;
const pitchOf = (state: number): number => (state - 1) >> 1;
const isAttack = (state: number): boolean => state !== SILENCE && state % 2 === 1;

function noteLattice(pitches: readonly PitchState[], options: SegmentOptions): Lattice {
  const arcs: Arc[][] = [[{ from: SILENCE, score: 0 }]];
  const start = new Float64Array(1 + 2 * pitches.length).fill(Number.NEGATIVE_INFINITY);
  start[SILENCE] = 0;
  const to = [{ state: SILENCE, score: 0 }];
  pitches.forEach((pitch, i) => {
    const begin = -(options.changeCost + pitch.cost);
    arcs[attackState(i)] = [{ from: attackState(i), score: 0 }];
    arcs[heldState(i)] = [
      { from: heldState(i), score: 0 },
      { from: attackState(i), score: 0 },
    ];
    for (const state of [attackState(i), heldState(i)]) {
      to.push({ state, score: begin });
      start[state] = begin;
    }
  });
  return { arcs, start, hub: { from: [SILENCE, ...pitches.map((_, i) => heldState(i))], to } };
}

/** Pitches in ascending order, and which state's each is. */
interface AscendingPitches {
  readonly midi: Float64Array;
  readonly pitch: Int32Array;
}

function ascendingPitches(pitches: readonly PitchState[]): AscendingPitches {
  const order = [...pitches.keys()].sort((a, b) => pitches[a].midi - pitches[b].midi);
  return { midi: Float64Array.from(order, (i) => pitches[i].midi), pitch: Int32Array.from(order) };
}

function observeFrame(
  frames: Frames,
  t: number,
  { midi, pitch }: AscendingPitches,
  options: SegmentOptions,
  threshold: number,
  scores: Float64Array,
): void {
  const { reachSemitones, attackReachSemitones, deviationCost, attackDeviationCost, ceiling } = options;
  scores.fill(0);
  const first = t * CANDIDATES;
  const shadow = options.threshold - threshold;
  const { candidateMidi, candidateStrength } = frames;
  for (let c = first; c < first + CANDIDATES; c++) {
    // Only the strongest of a moment gains by a low threshold: the others may be its shadows.
    const strength = Math.min(ceiling, candidateStrength[c]) - (c > first ? shadow : 0);
    if (strength <= 0) break;
    const heard = candidateMidi[c];
    let k = 0;
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
  const weight = frames.hopSec / EVIDENCE_STEP_SEC;
  for (let i = 0; i < midi.length; i++) {
    scores[heldState(i)] = weight * (scores[heldState(i)] - threshold);
    scores[attackState(i)] = weight * (scores[attackState(i)] - threshold - options.attackCost);
  }
}
