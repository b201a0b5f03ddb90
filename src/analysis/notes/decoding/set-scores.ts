import type { Kernel } from '../../../kernel.ts';
import { rowOf } from '../../pitch/evidence.ts';
import type { Frames } from '../../pitch/frames.ts';
import type { PitchState, ReedSet } from '../states.ts';
import { NETWORK_ROWS, type NetworkFrame, ROW_MARGIN } from './network-frame.ts';
import type { SegmentOptions } from './segment-options.ts';
import { firstSet, heldState } from './segment-states.ts';

/** What is summed up for a member or a set: three doubles. */
const SUMMED_BYTES = 24;

/** Scores the states of several pitches, from those of single pitches and what the network hears of each. */
export class SetScores {
  readonly #kernel: Kernel;
  readonly #options: SegmentOptions;
  readonly #count: number;
  readonly #members: number;
  readonly #membersAt: number;
  readonly #joined: number;
  readonly #joinedAt: number;
  readonly #summedAt: number;
  readonly #wholesAt: number;
  readonly #sizesAt: number;
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
    const { members, joined, wholes } = shareSums(sets);
    const found = members.flatMap(({ midi, shake }) => {
      const row = 8 * Math.max(0, Math.min(NETWORK_ROWS - 1, rowOf(evidence, midi) + ROW_MARGIN));
      const held = scoresAt + 8 * heldState(nearest(pitches, midi));
      return [(shake ? heard.shakeAt : heard.soundingAt) + row, heard.onsetAt + row, held];
    });
    const biases = sets.map(({ midis, shake }) => (shake ? 0 : options.setBias * midis.length));
    const first = 8 * firstSet(pitches.length);
    this.#kernel = kernel;
    this.#options = options;
    this.#count = sets.length;
    this.#members = members.length;
    this.#membersAt = kernel.keepWords(found);
    this.#joined = joined.length;
    this.#joinedAt = kernel.keepWords(joined.flat().map((place) => SUMMED_BYTES * place));
    this.#summedAt = kernel.reserve((SUMMED_BYTES / 4) * (members.length + joined.length));
    this.#wholesAt = kernel.keepWords(wholes.map((place) => SUMMED_BYTES * place));
    this.#sizesAt = kernel.keepDoubles(sets.map(({ midis }) => midis.length));
    this.#biasesAt = kernel.keepDoubles(biases);
    this.#scoresAt = scoresAt + first;
    this.#begunAt = begunAt + first;
  }

  /** Scores all sets; call it after the single pitches have been scored. */
  score(): void {
    this.#kernel.code.scoreTogether(
      this.#members,
      this.#membersAt,
      this.#joined,
      this.#joinedAt,
      this.#summedAt,
      this.#count,
      this.#wholesAt,
      this.#sizesAt,
      this.#biasesAt,
      this.#options.networkWeight,
      this.#options.onsetWeight,
      this.#scoresAt,
      this.#begunAt,
    );
  }
}

/** A pitch of one set or more: whether it sounds, or is part of a shake. */
interface Member {
  readonly midi: number;
  readonly shake: boolean;
}

/**
 * Sets that begin with the same pitches share what is summed up over these. Sums are numbered: those of members first, then
 * those of two members and more, each of an earlier sum and of one more member (`joined`). `wholes` has the number of each set.
 */
function shareSums(sets: readonly ReedSet[]): {
  readonly members: readonly Member[];
  readonly joined: readonly (readonly [before: number, last: number])[];
  readonly wholes: readonly number[];
} {
  const members: Member[] = [];
  const memberNumbers = new Map<string, number>();
  for (const { midis, shake } of sets) {
    for (const midi of midis) {
      const name = `${midi} ${shake}`;
      if (memberNumbers.has(name)) continue;
      memberNumbers.set(name, members.length);
      members.push({ midi, shake });
    }
  }
  const joined: [number, number][] = [];
  const numbers = new Map<string, number>();
  const wholes = sets.map(({ midis, shake }) =>
    midis.slice(1).reduce(
      (before, midi) => {
        const last = memberNumbers.get(`${midi} ${shake}`)!;
        const name = `${before} ${last}`;
        if (!numbers.has(name)) {
          numbers.set(name, members.length + joined.length);
          joined.push([before, last]);
        }
        return numbers.get(name)!;
      },
      memberNumbers.get(`${midis[0]} ${shake}`)!,
    ),
  );
  return { members, joined, wholes };
}

function nearest(pitches: readonly PitchState[], midi: number): number {
  let best = 0;
  pitches.forEach((pitch, i) => {
    if (Math.abs(pitch.midi - midi) < Math.abs(pitches[best].midi - midi)) best = i;
  });
  return best;
}
