import { pitchesOf, playableNotes } from '../../../src/harp/playable.ts';
import type { HarpSpec } from '../../../src/harp/types.ts';
import type { TabNote } from '../../../src/tab/tab-note.ts';
import { maximumMatching } from '../scores/matching.ts';
import { addTallies, type Tally } from '../scores/metrics.ts';

/** What sounds, from when on. */
export interface PlayedEvent extends TabNote {
  readonly onsetSec: number;
}

/** Kinds of events: two next holes, more next holes, holes with some between them left out. */
export const EVENT_KINDS = ['single', 'pair', 'chord', 'split', 'shake'] as const;
export type EventKind = (typeof EVENT_KINDS)[number];

export interface TogetherScore {
  /** Whole events: every hole, by pitch, and onset within 50 ms. */
  readonly event: Tally;
  readonly kinds: Readonly<Record<EventKind, Tally>>;
}

const ONSET_SEC = 0.05;

export function kindOf({ holes, shake }: TabNote): EventKind {
  if (shake === true) return 'shake';
  if (holes === undefined || holes.length < 2) return 'single';
  if (holes[holes.length - 1] - holes[0] >= holes.length) return 'split';
  return holes.length === 2 ? 'pair' : 'chord';
}

/** Scores what was heard; pitches stand for holes, so that 2 draw and 3 blow are alike. */
export function scoreTogether(
  truth: readonly PlayedEvent[],
  heard: readonly PlayedEvent[],
  harp: HarpSpec,
): TogetherScore {
  const playable = playableNotes(harp);
  const setOf = (event: PlayedEvent): string =>
    `${kindOf(event) === 'shake' ? 'shake ' : ''}${pitchesOf(playable, event).join(' ')}`;
  const sets = heard.map(setOf);
  const pairs = maximumMatching(
    truth.map((event) => {
      const wanted = setOf(event);
      return heard.flatMap((one, i) =>
        Math.abs(one.onsetSec - event.onsetSec) <= ONSET_SEC + 1e-9 && sets[i] === wanted ? [i] : [],
      );
    }),
    heard.length,
  );
  const tallyOf = (keep: (event: PlayedEvent) => boolean): Tally => ({
    matched: truth.filter((event, i) => pairs[i] >= 0 && keep(event)).length,
    reference: truth.filter(keep).length,
    estimated: heard.filter(keep).length,
  });
  return {
    event: tallyOf(() => true),
    kinds: Object.fromEntries(
      EVENT_KINDS.map((kind) => [kind, tallyOf((event) => kindOf(event) === kind)]),
    ) as TogetherScore['kinds'],
  };
}

export function addTogether(scores: readonly TogetherScore[]): TogetherScore {
  return {
    event: addTallies(scores.map(({ event }) => event)),
    kinds: Object.fromEntries(
      EVENT_KINDS.map((kind) => [kind, addTallies(scores.map(({ kinds }) => kinds[kind]))]),
    ) as TogetherScore['kinds'],
  };
}
