import type { Kernel } from '../../../kernel.ts';
import { rowOf } from '../../pitch/evidence.ts';
import type { Frames } from '../../pitch/frames.ts';
import type { PitchState, ReedSet } from '../states.ts';
import { NETWORK_ROWS, type NetworkFrame, ROW_MARGIN } from './network-frame.ts';
import type { SegmentOptions } from './segment-options.ts';
import { firstSet, heldState } from './segment-states.ts';

/** Scores the states of several pitches, from those of single pitches and what the network hears of each. */
export class SetScores {
  readonly #kernel: Kernel;
  readonly #options: SegmentOptions;
  readonly #count: number;
  readonly #sizesAt: number;
  readonly #membersAt: number;
  readonly #biasesAt: number;
  readonly #scoresAt: number;
  readonly #begunAt: number;

  /** @param scoresAt,begunAt  byte offsets of the scores and onset evidence of all states */
  constructor(
    kernel: Kernel,
    { evidence }: Frames,
    pitches: readonly PitchState[],
    sets: readonly ReedSet[],
    options: SegmentOptions,
    heard: NetworkFrame,
    scoresAt: number,
    begunAt: number,
  ) {
    const members = sets.flatMap(({ midis, shake }) =>
      midis.flatMap((midi) => {
        const row = 8 * Math.max(0, Math.min(NETWORK_ROWS - 1, rowOf(evidence, midi) + ROW_MARGIN));
        const held = scoresAt + 8 * heldState(nearest(pitches, midi));
        return [(shake ? heard.shakeAt : heard.soundingAt) + row, heard.onsetAt + row, held];
      }),
    );
    const biases = sets.map(({ midis, shake }) => (shake ? 0 : options.setBias * midis.length));
    const first = 8 * firstSet(pitches.length);
    this.#kernel = kernel;
    this.#options = options;
    this.#count = sets.length;
    this.#sizesAt = kernel.keepWords(sets.map(({ midis }) => midis.length));
    this.#membersAt = kernel.keepWords(members);
    this.#biasesAt = kernel.keepDoubles(biases);
    this.#scoresAt = scoresAt + first;
    this.#begunAt = begunAt + first;
  }

  /** Scores all sets; call it after the single pitches have been scored. */
  score(): void {
    this.#kernel.code.scoreTogether(
      this.#count,
      this.#sizesAt,
      this.#membersAt,
      this.#biasesAt,
      this.#options.networkWeight,
      this.#options.onsetWeight,
      this.#scoresAt,
      this.#begunAt,
    );
  }
}

function nearest(pitches: readonly PitchState[], midi: number): number {
  let best = 0;
  pitches.forEach((pitch, i) => {
    if (Math.abs(pitch.midi - midi) < Math.abs(pitches[best].midi - midi)) best = i;
  });
  return best;
}
