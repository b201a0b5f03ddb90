import { quantile } from '../../../statistics.ts';
import { EVIDENCE_SLOTS, type PitchEvidence, ROWS, rowOf, STEPS_PER_NAT } from '../../pitch/evidence.ts';
import { CANDIDATES, type Frames } from '../../pitch/frames.ts';
import type { PitchState, ReedSet } from '../states.ts';
import type { SegmentOptions } from './segment-options.ts';
import { attackState, firstSet, heldState, SILENCE } from './segment-states.ts';

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

/** Pitches in ascending order, and which state's each is. */
interface AscendingPitches {
  readonly midi: Float64Array;
  readonly pitch: Int32Array;
}

function ascendingPitches(pitches: readonly PitchState[]): AscendingPitches {
  const order = [...pitches.keys()].sort((a, b) => pitches[a].midi - pitches[b].midi);
  return { midi: Float64Array.from(order, (i) => pitches[i].midi), pitch: Int32Array.from(order) };
}

/** Log odds of the network beyond this say no more, in nats. */
const MOST_NATS = 4;
/** A note may begin so many semitones below its pitch and be heard there. */
const SCOOP_ROWS = 2;
/** A held pitch may swing into the rows beside it, where it counts for less, in nats. */
const BESIDE_NATS = 1.5;

/** Scores the states of each frame by the comb and by the network. */
export class Observer {
  readonly #frames: Frames;
  readonly #options: SegmentOptions;
  readonly #threshold: number;
  readonly #ascending: AscendingPitches;
  readonly #rows: Int32Array;
  readonly #sets: readonly {
    readonly rows: Int32Array;
    readonly held: Int32Array;
    readonly shake: boolean;
  }[];
  readonly #heard = new NetworkFrame();

  constructor(
    frames: Frames,
    pitches: readonly PitchState[],
    sets: readonly ReedSet[],
    options: SegmentOptions,
  ) {
    this.#frames = frames;
    this.#options = options;
    this.#ascending = ascendingPitches(pitches);
    this.#threshold = soundThreshold(frames, options.threshold);
    const { evidence } = frames;
    this.#rows = Int32Array.from(pitches, ({ midi }) => rowOf(evidence, midi));
    this.#sets = sets.map(({ midis, shake }) => ({
      rows: Int32Array.from(midis, (midi) => rowOf(evidence, midi)),
      held: Int32Array.from(midis, (midi) => heldState(nearest(pitches, midi))),
      shake,
    }));
  }

  /** What speaks for each state. */
  observe(t: number, scores: Float64Array): void {
    const { networkWeight, attackCost, setBias } = this.#options;
    const heard = this.#heard;
    this.#comb(t, scores);
    heard.read(this.#frames.evidence, t);
    const first = firstSet(this.#rows.length);
    this.#sets.forEach(({ rows, held, shake }, j) => {
      let network = 0;
      let comb = Number.NEGATIVE_INFINITY;
      const values = shake ? heard.shake : heard.sounding;
      for (let k = 0; k < rows.length; k++) {
        network += values[rows[k] + ROW_MARGIN] + (shake ? 0 : setBias);
        comb = Math.max(comb, scores[held[k]]);
      }
      scores[first + j] = comb + networkWeight * network;
    });
    for (let i = 0; i < this.#rows.length; i++) {
      const row = this.#rows[i] + ROW_MARGIN;
      const here = heard.sounding[row];
      let near = here;
      for (let below = 1; below <= SCOOP_ROWS; below++) near = Math.max(near, heard.sounding[row - below]);
      const beside = Math.max(heard.sounding[row - 1], heard.sounding[row + 1]) - BESIDE_NATS;
      scores[heldState(i)] += networkWeight * Math.max(here, beside);
      scores[attackState(i)] += networkWeight * near - attackCost;
    }
    scores[SILENCE] = 0;
  }

  /** What the network hears of onsets makes it cheaper to begin. */
  enter(scores: Float64Array): void {
    const { onsetWeight } = this.#options;
    const { onset } = this.#heard;
    const first = firstSet(this.#rows.length);
    for (let i = 0; i < this.#rows.length; i++) {
      scores[attackState(i)] = scores[heldState(i)] = onsetWeight * onset[this.#rows[i] + ROW_MARGIN];
    }
    this.#sets.forEach(({ rows }, j) => {
      let sum = 0;
      for (let k = 0; k < rows.length; k++) sum += onset[rows[k] + ROW_MARGIN];
      scores[first + j] = (onsetWeight * sum) / rows.length;
    });
  }

  /** The comb's evidence, less what noise reaches: around the pitch when held, from below while it begins. */
  #comb(t: number, scores: Float64Array): void {
    const { reachSemitones, attackReachSemitones, deviationCost, attackDeviationCost, ceiling, combWeight } =
      this.#options;
    const { midi, pitch } = this.#ascending;
    scores.fill(0);
    const first = t * CANDIDATES;
    const threshold = this.#threshold;
    const shadow = this.#options.threshold - threshold;
    const { candidateMidi, candidateStrength } = this.#frames;
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
    const weight = (combWeight * this.#frames.hopSec) / EVIDENCE_STEP_SEC;
    for (let i = 0; i < midi.length; i++) {
      scores[heldState(i)] = weight * (scores[heldState(i)] - threshold);
      scores[attackState(i)] = weight * (scores[attackState(i)] - threshold);
    }
  }
}

/** Rows beyond both ends that are never heard, for pitches that lie there. */
const ROW_MARGIN = 16;

/** The network's evidence of one frame by row + ROW_MARGIN, in nats, at most MOST_NATS either way. */
class NetworkFrame {
  readonly sounding = new Float64Array(ROWS + 2 * ROW_MARGIN).fill(-MOST_NATS);
  readonly onset = new Float64Array(ROWS + 2 * ROW_MARGIN).fill(-ONSET_NATS);
  readonly shake = new Float64Array(ROWS + 2 * ROW_MARGIN).fill(-MOST_NATS);
  #filled: number[] = [];

  read({ rows, sounding, onset, shake }: PitchEvidence, t: number): void {
    for (const row of this.#filled) {
      this.sounding[row] = this.shake[row] = -MOST_NATS;
      this.onset[row] = -ONSET_NATS;
    }
    this.#filled = [];
    for (let s = t * EVIDENCE_SLOTS; s < (t + 1) * EVIDENCE_SLOTS; s++) {
      if (rows[s] === 0) continue;
      const row = rows[s] - 1 + ROW_MARGIN;
      this.#filled.push(row);
      this.sounding[row] = bounded(sounding[s], MOST_NATS);
      this.shake[row] = bounded(shake[s], MOST_NATS);
      this.onset[row] = Math.max(-ONSET_NATS, bounded(onset[s], MOST_NATS));
    }
  }
}

/** No sign of an onset costs a new note at most this. */
const ONSET_NATS = 2;

const bounded = (steps: number, most: number): number =>
  Math.max(-most, Math.min(most, steps / STEPS_PER_NAT));

function nearest(pitches: readonly PitchState[], midi: number): number {
  let best = 0;
  pitches.forEach((pitch, i) => {
    if (Math.abs(pitch.midi - midi) < Math.abs(pitches[best].midi - midi)) best = i;
  });
  return best;
}
