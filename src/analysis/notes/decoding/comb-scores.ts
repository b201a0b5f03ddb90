import type { Kernel } from '../../../kernel.ts';
import { CANDIDATES, type Frames } from '../../pitch/frames.ts';
import type { PitchState } from '../states.ts';
import type { SegmentOptions } from './segment-options.ts';
import { attackState } from './segment-states.ts';

/** How far above its pitch a note may begin, in semitones. */
const ATTACK_ABOVE_SEMITONES = 0.7;

/** Neighbouring frames overlap, so their evidence is not independent: it counts once per stretch of this length. */
const EVIDENCE_STEP_SEC = 0.005;

/** MIDI numbers lie below this. */
const SEMITONES = 128;

/** Scores pitches by the comb's evidence above the noise: around the pitch of held states, from below it for attack states. */
export class CombScores {
  readonly #kernel: Kernel;
  readonly #frames: Frames;
  readonly #options: SegmentOptions;
  readonly #threshold: number;
  readonly #weight: number;
  readonly #scoresAt: number;
  readonly #combAt: number;
  /** Pitch and strength of each candidate. */
  readonly #candidates: Float64Array;

  /**
   * @param threshold  evidence below which nothing sounds
   * @param scoresAt  byte offset of the scores: two for each pitch, of its attack and held
   */
  constructor(
    kernel: Kernel,
    frames: Frames,
    pitches: readonly PitchState[],
    options: SegmentOptions,
    threshold: number,
    scoresAt: number,
  ) {
    const { reachSemitones, attackReachSemitones, deviationCost, attackDeviationCost, combWeight } = options;
    this.#kernel = kernel;
    this.#frames = frames;
    this.#options = options;
    this.#threshold = threshold;
    this.#weight = (combWeight * frames.hopSec) / EVIDENCE_STEP_SEC;
    this.#scoresAt = scoresAt;
    const order = [...pitches.keys()].sort((a, b) => pitches[a].midi - pitches[b].midi);
    const midis = order.map((i) => pitches[i].midi);
    const near = Array.from({ length: SEMITONES }, (_, semitone) => {
      const found = midis.findIndex((midi) => midi >= semitone - reachSemitones);
      return found < 0 ? midis.length : found;
    });
    const candidatesAt = kernel.reserve(4 * CANDIDATES);
    this.#candidates = kernel.doublesAt(candidatesAt, 2 * CANDIDATES);
    this.#combAt = kernel.keepWords([
      0,
      candidatesAt,
      midis.length,
      kernel.keepDoubles(midis),
      kernel.keepWords(order.map((i) => 8 * (attackState(i) - attackState(0)))),
      SEMITONES,
      kernel.keepWords(near),
      kernel.keepDoubles([
        reachSemitones,
        attackReachSemitones,
        ATTACK_ABOVE_SEMITONES,
        deviationCost,
        attackDeviationCost,
      ]),
    ]);
  }

  score(t: number): void {
    const { candidateMidi, candidateStrength } = this.#frames;
    const { ceiling, threshold: usual } = this.#options;
    const candidates = this.#candidates;
    const shadow = usual - this.#threshold;
    const first = t * CANDIDATES;
    let count = 0;
    for (let c = first; c < first + CANDIDATES; c++) {
      // Only the strongest candidate gains from a low threshold: the others may be its side effects.
      const strength = Math.min(ceiling, candidateStrength[c]) - (c > first ? shadow : 0);
      if (strength <= 0) break;
      candidates[2 * count] = candidateMidi[c];
      candidates[2 * count + 1] = strength;
      count++;
    }
    this.#kernel.words[this.#combAt / 4] = count;
    this.#kernel.code.combPitches(this.#combAt, this.#weight, this.#threshold, this.#scoresAt);
  }
}
