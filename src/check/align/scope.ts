import { ReedtraceError } from '../../errors.ts';
import type { CustomHarp } from '../../harp/types.ts';
import type { Take } from '../../take/schema.ts';
import { type Match, matchNotes } from './match.ts';
import { COSTS } from './pitch-costs.ts';
import { placeInTune, stretchesOf, WINDOW } from './place-in-tune.ts';
import { type PlayedNote, playedOf } from './played.ts';
import { type Reference, takeHarp } from './reference.ts';
import { usableNotes } from './usable-notes.ts';

/** The part of a reference that a take is compared with. */
export interface Scope {
  /** Notes of the reference, from 0; `to` is not in it. */
  readonly from: number;
  readonly to: number;
  /** First and last line, from 1. */
  readonly lines: readonly [first: number, last: number];
  /** True when it is the whole reference. */
  readonly whole: boolean;
  /** Whether the player named it, or it was detected. */
  readonly named: boolean;
  /** The alignment by which it was detected, if it was. */
  readonly match: Match | null;
}

const wholeOf = ({ notes }: Reference): Scope => ({
  from: 0,
  to: notes.length,
  lines: [notes[0]?.line ?? 1, notes[notes.length - 1]?.line ?? 1],
  whole: true,
  named: false,
  match: null,
});

/**
 * Lines of the reference as the player counts them.
 * @throws ReedtraceError E_USAGE if there are not that many
 */
export function linesOf(reference: Reference, first: number, last: number): Scope {
  const { notes, name } = reference;
  const lines = notes[notes.length - 1].line;
  if (last > lines) {
    throw new ReedtraceError(
      'E_USAGE',
      `'${name}' has ${lines === 1 ? 'one line' : `${lines} lines`}, so there is no line ${last}`,
      lines === 1 ? 'leave out --line' : `name a line from 1 to ${lines}`,
    );
  }
  const from = notes.findIndex(({ line }) => line >= first);
  const to = notes.findLastIndex(({ line }) => line <= last) + 1;
  return {
    from,
    to,
    lines: [first, last],
    whole: from === 0 && to === notes.length,
    named: true,
    match: null,
  };
}

/** The reference cut down to a part of it. */
export function within(
  reference: Reference,
  { from, to, whole }: Pick<Scope, 'from' | 'to' | 'whole'>,
): Reference {
  return whole ? reference : { ...reference, notes: reference.notes.slice(from, to) };
}

/** A take that fits the whole tune at less than this cost per note is a take of the whole tune. */
const WELL_COST = 0.12;
/** A part must explain the take this much better than the whole tune, by the cost of the alignment, … */
const COST_SHARE = 0.7;
/** … most of its notes must have been played right, and most of what was played must belong to it. */
const PLAYED_SHARE = 0.6;
/** Shorter parts fit anything. */
const FEWEST_NOTES = 5;
/** Longer tunes are divided into at most this many pieces. */
const MOST_PIECES = 16;
/** The number of parts that are examined closely, likeliest first. */
const MOST_TRIED = 9;

/** Finds which part of the tune a take holds: some of its lines, or bars if the tune is one line, or else the whole. */
export function findScope(take: Take, reference: Reference, custom: CustomHarp = {}): Scope {
  const harp = takeHarp(take, custom);
  const playedFor = (part: Reference): PlayedNote[] => playedOf(usableNotes(take, part, harp), harp);
  const played = playedFor(reference);
  const full = matchNotes(played, reference);
  const whole: Scope = { ...wholeOf(reference), match: full };
  if (full.cost < WELL_COST * reference.notes.length) return whole;
  let best: Scope = whole;
  let bestCost = COST_SHARE * full.cost;
  for (const { from, to, leastCost } of likelyParts(played, reference, bestCost)) {
    // The whole costs no more than a part plus all notes outside it, missed.
    const outside = reference.notes.length - (to - from);
    if (Math.max(leastCost, full.cost - COSTS.missed * outside) >= bestCost) continue;
    const lines = [reference.notes[from].line, reference.notes[to - 1].line] as const;
    const part = within(reference, { from, to, whole: false });
    const candidate = playedFor(part);
    const match = matchNotes(candidate, part);
    if (match.cost >= bestCost || !isPlayed(match, candidate, part)) continue;
    best = { from, to, lines, whole: false, named: false, match };
    bestCost = match.cost;
  }
  return best;
}

interface Part {
  readonly from: number;
  readonly to: number;
  /** Lower bound of the cost of aligning the take with it. */
  readonly leastCost: number;
}

/** Parts of the tune that a take may hold: all of them for a short take, those near its place in the tune for a long one. */
function likelyParts(played: readonly PlayedNote[], { notes }: Reference, mostCost: number): Part[] {
  const place = placeInTune(played, notes, (1 - PLAYED_SHARE) * COSTS.neighbour);
  if (place === null) return [];
  const starts = piecesOf(notes);
  const parts =
    played.length <= WINDOW.notes
      ? stretchesOf(played, notes, starts, mostCost)
      : partsAround(place, starts, notes.length);
  return parts
    .filter(({ from, to }) => to - from >= FEWEST_NOTES && to - from < notes.length)
    .slice(0, MOST_TRIED);
}

/** Whether a take holds this part: most of each is in the other. */
function isPlayed({ steps, shift }: Match, played: readonly PlayedNote[], { notes }: Reference): boolean {
  const right = steps.flatMap((step) =>
    step.kind === 'pair' && played[step.a].midi - notes[step.b].midi === shift ? [step.b] : [],
  );
  return right.length >= PLAYED_SHARE * played.length && new Set(right).size >= PLAYED_SHARE * notes.length;
}

/** Parts whose first and last pieces lie near the ends of a place in the tune. */
function partsAround(place: Pick<Part, 'from' | 'to'>, starts: readonly number[], count: number): Part[] {
  const ends = [...starts.slice(1), count];
  const first = starts.findLastIndex((start) => start <= place.from);
  const last = ends.findIndex((end) => end >= place.to);
  const around = <T>(list: readonly T[], at: number): T[] => list.slice(Math.max(0, at - 1), at + 2);
  return around(starts, first).flatMap((from) =>
    around(ends, last).map((to) => ({ from, to, leastCost: 0 })),
  );
}

/** Where lines begin, or bars where the tune is one line. */
function piecesOf(notes: Reference['notes']): number[] {
  const begins = (key: 'line' | 'bar'): number[] =>
    notes.flatMap((note, i) => (i === 0 || note[key] !== notes[i - 1][key] ? [i] : []));
  const lines = begins('line');
  const starts = lines.length > 1 ? lines : begins('bar');
  const every = Math.ceil(starts.length / MOST_PIECES);
  return starts.filter((_, i) => i % every === 0);
}
