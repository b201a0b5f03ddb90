import { sameTab, type TabNote } from '../tab/tab-note.ts';
import type { ArrangedTune } from './tablature.ts';
import type { Weights } from './weights.ts';

/** What a player has to learn or buy to change from how a tune is played today. */
export interface Learning {
  /** Notes that move to another place. */
  readonly changedNotes: number;
  /** A harp in another key, which the player may not have. */
  readonly anotherKey: boolean;
  readonly anotherTuning: boolean;
  readonly anotherPosition: boolean;
  /** Whole octaves, up or down. */
  readonly octaves: number;
  readonly anotherTonality: boolean;
}

/** Points for what has to be learnt. */
export function learningCost(learning: Learning, weights: Weights): number {
  return (
    learning.changedNotes * weights.changedNote +
    (learning.anotherKey ? weights.anotherHarp : 0) +
    (learning.anotherTuning ? weights.anotherTuning : 0) +
    (learning.anotherPosition ? weights.anotherPosition : 0) +
    Math.abs(learning.octaves) * weights.otherOctave +
    (learning.anotherTonality ? weights.otherKey : 0)
  );
}

/** How many notes of an arrangement are not in the same place as today. */
export function changedNotes({ choices }: ArrangedTune, today: readonly TabNote[]): number {
  return choices.filter((choice, i) => choice === null || !sameTab(choice.note, today[i])).length;
}
