import type { CustomHarp } from '../harp/types.ts';
import type { Take } from '../take/schema.ts';
import type { Match } from './align/match.ts';
import { inVerse, type Reference } from './align/reference.ts';
import type { Tolerances } from './finding.ts';
import { type Judgement, judge } from './judging/judge.ts';
import { type Score, scoreOf } from './score.ts';

/** One of several times that a piece was played in one recording. */
export interface Attempt {
  readonly fromSec: number;
  readonly toSec: number;
  readonly reference: Reference;
  readonly judgement: Judgement;
  readonly score: Score;
}

/** All attempts, and which one counts. */
export interface Attempts {
  /** In order; usually one. */
  readonly all: readonly Attempt[];
  /** Place of the best in `all`; the last one if several are equal. */
  readonly best: number;
  /** Points gained from the first to the last; null when there is only one. */
  readonly trend: number | null;
}

/** Going back to this near the start … */
const START_NOTES = 2;
/** … after this much of the piece begins another attempt; before that it is a restart. */
const COVERED_SHARE = 0.6;

/**
 * Judges each attempt in a take separately. The second attempt at a tune with verses is its second verse.
 * @param known  the whole take aligned with the reference, where that was done
 */
export function judgeAttempts(
  take: Take,
  reference: Reference,
  tolerances: Tolerances,
  custom: CustomHarp = {},
  known: Match | null = null,
): Attempts {
  const whole = judge(take, reference, tolerances, custom, known);
  const begins = attemptsBegin(whole, reference);
  const all =
    begins.length === 1
      ? [attemptOf(take, whole, reference, tolerances)]
      : begins.map((from, k): Attempt => {
          const part = between(take, from, begins[k + 1] ?? Number.POSITIVE_INFINITY);
          const verse = inVerse(reference, k + 1);
          return attemptOf(part, judge(part, verse, tolerances, custom), verse, tolerances);
        });
  const scores = all.map(({ score }) => score.score);
  return {
    all,
    best: scores.lastIndexOf(Math.max(...scores)),
    trend: all.length === 1 ? null : scores[scores.length - 1] - scores[0],
  };
}

function attemptOf(take: Take, judgement: Judgement, reference: Reference, tolerances: Tolerances): Attempt {
  return {
    fromSec: take.notes[0]?.onsetSec ?? 0,
    toSec: take.notes[take.notes.length - 1]?.offsetSec ?? 0,
    reference,
    judgement,
    score: scoreOf(judgement, reference, tolerances),
  };
}

/** Stretches in which no note agrees are not attempts. */
const AGREE_SHARE = 0.6;

/** Seconds at which attempts begin; 0 for the first. */
function attemptsBegin({ match, notes: judged }: Judgement, { notes }: Reference): number[] {
  const begins = [0];
  if (judged.filter(({ right }) => right).length < AGREE_SHARE * judged.length) return begins;
  let farthest = 0;
  // Judged notes are in the order of the steps that they come from.
  let at = 0;
  for (const step of match.steps) {
    if (step.kind === 'pair') farthest = Math.max(farthest, step.b);
    if (step.kind === 'pair' || step.kind === 'added') at++;
    if (step.kind !== 'back') continue;
    const again = step.toB < START_NOTES && farthest >= COVERED_SHARE * (notes.length - 1);
    const next = judged.slice(at).find(({ referenceIndex }) => referenceIndex !== null);
    if (again && next !== undefined) begins.push(next.note.onsetSec);
    farthest = step.toB;
  }
  return begins;
}

/** The take with the notes that begin in a stretch. */
function between(take: Take, fromSec: number, toSec: number): Take {
  const inside = ({ onsetSec }: { readonly onsetSec: number }): boolean =>
    onsetSec >= fromSec && onsetSec < toSec;
  const first = take.notes.findIndex(inside);
  const last = take.notes.findLastIndex(inside);
  return {
    ...take,
    notes: take.notes.slice(first, last + 1),
    phrases: take.phrases.flatMap(({ firstNote, lastNote }) =>
      firstNote >= first && lastNote <= last
        ? [{ firstNote: firstNote - first, lastNote: lastNote - first }]
        : [],
    ),
  };
}
