import { ReedtraceError } from '../../errors.ts';
import type { CustomHarp } from '../../harp/types.ts';
import type { Take } from '../../take/schema.ts';
import { type Match, matchNotes, playedOf } from './match.ts';
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
  /** Whether the player named it, or it was found. */
  readonly named: boolean;
  /** The take laid along it, where it was found by that. */
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
 * @throws ReedtraceError E_USAGE when there are not so many
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

/** A take that fits the whole tune at less than this cost a note is of the whole tune. */
const WELL_COST = 0.12;
/** A part must explain the take so much better than the whole, by the cost of the alignment, … */
const COST_SHARE = 0.7;
/** … and most of its notes must have been played right, and most of what was played must be of it. */
const PLAYED_SHARE = 0.6;
/** Shorter parts fit anything. */
const FEWEST_NOTES = 5;
/** Longer tunes are looked at in so many pieces at most. */
const MOST_PIECES = 16;

/** Which part of the tune a take holds: some lines of it, or, where there are none, some bars; else the whole. */
export function findScope(take: Take, reference: Reference, custom: CustomHarp = {}): Scope {
  const harp = takeHarp(take, custom);
  const matchWith = (part: Reference): { match: Match; agree: number; fits: boolean } => {
    const played = playedOf(usableNotes(take, part, harp), harp);
    const match = matchNotes(played, part);
    const right = match.steps.flatMap((step) =>
      step.kind === 'pair' && played[step.a].midi - part.notes[step.b].midi === match.shift ? [step.b] : [],
    );
    return { match, agree: new Set(right).size, fits: right.length >= PLAYED_SHARE * played.length };
  };
  const { match: full } = matchWith(reference);
  const whole: Scope = { ...wholeOf(reference), match: full };
  if (full.cost < WELL_COST * reference.notes.length) return whole;
  const starts = piecesOf(reference);
  let best: { scope: Scope; cost: number } | null = null;
  for (let i = 0; i < starts.length; i++) {
    for (let k = i + 1; k <= starts.length; k++) {
      const [from, to] = [starts[i], starts[k] ?? reference.notes.length];
      if (to - from < FEWEST_NOTES || to - from === reference.notes.length) continue;
      const lines = [reference.notes[from].line, reference.notes[to - 1].line] as const;
      const piece = { from, to, lines, whole: false, named: false };
      const part = within(reference, piece);
      const { match, agree, fits } = matchWith(part);
      if (!fits || agree < PLAYED_SHARE * part.notes.length) continue;
      if (best === null || match.cost < best.cost) best = { scope: { ...piece, match }, cost: match.cost };
    }
  }
  return best !== null && best.cost < COST_SHARE * full.cost ? best.scope : whole;
}

/** Where lines begin, or bars where the tune is one line. */
function piecesOf({ notes }: Reference): number[] {
  const begins = (key: 'line' | 'bar'): number[] =>
    notes.flatMap((note, i) => (i === 0 || note[key] !== notes[i - 1][key] ? [i] : []));
  const lines = begins('line');
  const starts = lines.length > 1 ? lines : begins('bar');
  const every = Math.ceil(starts.length / MOST_PIECES);
  return starts.filter((_, i) => i % every === 0);
}
