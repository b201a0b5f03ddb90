import type { TruthNote } from '../../../samples/synth/truth.ts';
import {
  type NoteOrnament,
  type Ornamented,
  type OrnamentKind,
  ornamentsOf,
} from '../../../src/tab/ornament.ts';

export const PLANTED_KINDS = ['scoop', 'fall', 'vibrato', 'tremolo', 'hand'] as const;
type PlantedKind = (typeof PLANTED_KINDS)[number];

export interface KindScore {
  readonly planted: number;
  readonly found: number;
  /** Reported on a note that has none of this kind. */
  readonly wrong: number;
  /** Those of them on plain notes. */
  readonly onPlain: number;
  /** Measured against planted, of those found: the first measure of the kind, as a ratio. */
  readonly ratios: readonly number[];
}

export interface OrnamentScore {
  readonly notes: number;
  /** Notes without any ornament. */
  readonly plain: number;
  /** Notes of the truth that no note was heard for. */
  readonly unheard: number;
  readonly kinds: Readonly<Record<PlantedKind, KindScore>>;
}

export interface HeardNote extends Ornamented {
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly hole: number;
  readonly breath: string;
}

/** Fluctuation that style alone gives a plain note; no ornament, and none is wanted. */
const NAMELESS = { vibrato: 8, tremolo: 2 } as const;

/** Whether an ornament is more than what style alone gives a plain note. */
export const isNamed = (ornament: NoteOrnament): boolean =>
  !(ornament.kind === 'vibrato' && ornament.depthCents < NAMELESS.vibrato) &&
  !(ornament.kind === 'tremolo' && ornament.depthDb < NAMELESS.tremolo);

/** Ornaments by note: each heard note stands for the note of the truth that it shares most time with. */
export function scoreOrnaments(truth: readonly TruthNote[], heard: readonly HeardNote[]): OrnamentScore {
  const told = truth.map((note) =>
    heard.filter((one) => mostOverlapped(one, truth) === note).flatMap((one) => ornamentsOf(one)),
  );
  const named = truth.map(({ ornaments }) => (ornaments ?? []).filter(isNamed));
  const has = (all: readonly NoteOrnament[], kind: OrnamentKind): boolean =>
    all.some((one) => one.kind === kind);
  return {
    notes: truth.length,
    plain: named.filter((all) => all.length === 0).length,
    unheard: truth.filter((note) => !heard.some((one) => mostOverlapped(one, truth) === note)).length,
    kinds: byKind((kind) => {
      const found = truth.flatMap((_, i) => (has(named[i], kind) && has(told[i], kind) ? [i] : []));
      const wrong = truth.flatMap((_, i) => (!has(named[i], kind) && has(told[i], kind) ? [i] : []));
      return {
        planted: named.filter((all) => has(all, kind)).length,
        found: found.length,
        wrong: wrong.length,
        onPlain: wrong.filter((i) => named[i].length === 0).length,
        ratios: found.map((i) => measureOf(told[i], kind) / measureOf(named[i], kind)),
      };
    }),
  };
}

const byKind = (of: (kind: PlantedKind) => KindScore): OrnamentScore['kinds'] => ({
  scoop: of('scoop'),
  fall: of('fall'),
  vibrato: of('vibrato'),
  tremolo: of('tremolo'),
  hand: of('hand'),
});

function measureOf(all: readonly NoteOrnament[], kind: OrnamentKind): number {
  const one = all.find((ornament) => ornament.kind === kind);
  switch (one?.kind) {
    case 'scoop':
      return one.fromCents;
    case 'fall':
      return one.toCents;
    case 'vibrato':
      return one.depthCents;
    case 'tremolo':
      return one.depthDb;
    case 'hand':
      return one.brightnessDb;
    default:
      return Number.NaN;
  }
}

/** The note of the truth that shares most time with a heard one; null when none does. */
export function mostOverlapped(
  one: Pick<HeardNote, 'onsetSec' | 'offsetSec'>,
  truth: readonly TruthNote[],
): TruthNote | null {
  let best: TruthNote | null = null;
  let most = 0;
  for (const note of truth) {
    const shared = Math.min(one.offsetSec, note.offsetSec) - Math.max(one.onsetSec, note.onsetSec);
    if (shared > most) {
      most = shared;
      best = note;
    }
  }
  return best;
}

export function addOrnaments(scores: readonly OrnamentScore[]): OrnamentScore {
  const sum = (of: (score: OrnamentScore) => number): number =>
    scores.reduce((all, score) => all + of(score), 0);
  return {
    notes: sum(({ notes }) => notes),
    plain: sum(({ plain }) => plain),
    unheard: sum(({ unheard }) => unheard),
    kinds: byKind((kind) => ({
      planted: sum(({ kinds }) => kinds[kind].planted),
      found: sum(({ kinds }) => kinds[kind].found),
      wrong: sum(({ kinds }) => kinds[kind].wrong),
      onPlain: sum(({ kinds }) => kinds[kind].onPlain),
      ratios: scores.flatMap(({ kinds }) => kinds[kind].ratios),
    })),
  };
}
