import type { CustomHarp } from '../harp/types.ts';
import type { Take } from '../take/schema.ts';
import { countedInWords } from '../text/counted.ts';
import { type Advice, adviceOf } from './advice/advice.ts';
import { ADVICE_WEIGHTS, type AdviceWeights } from './advice/weights.ts';
import { wentWell } from './advice/went-well.ts';
import type { Reference } from './align/reference.ts';
import { findScope, linesOf, type Scope, within } from './align/scope.ts';
import { type Attempt, type Attempts, judgeAttempts } from './attempts.ts';
import type { Tolerances } from './finding.ts';

/** How a take is checked. */
export interface CheckOptions {
  readonly tolerances: Tolerances;
  /** Lines of the reference that were to be played; detected if omitted. */
  readonly lines?: readonly [first: number, last: number] | undefined;
  readonly weights?: AdviceWeights;
  readonly custom?: CustomHarp;
}

/** The check of one take. */
export interface CheckedTake {
  readonly scope: Scope;
  readonly attempts: Attempts;
  /** The attempt that counts: the best. */
  readonly attempt: Attempt;
  /** Whether another tune was probably played; then there is no advice. */
  readonly otherTune: boolean;
  readonly advice: readonly Advice[];
  readonly wentWell: readonly string[];
  /** Plain sentences about the take as a whole, beginning with what was played. */
  readonly remarks: readonly string[];
}

/** Compares a take with a reference, or with the part of it that was played. */
export function checkTake(take: Take, reference: Reference, options: CheckOptions): CheckedTake {
  const { tolerances, lines, weights = ADVICE_WEIGHTS, custom = {} } = options;
  const scope = lines === undefined ? findScope(take, reference, custom) : linesOf(reference, ...lines);
  const attempts = judgeAttempts(take, within(reference, scope), tolerances, custom, scope.match);
  const attempt = attempts.all[attempts.best];
  const { judgement } = attempt;
  const { otherTune } = judgement;
  return {
    scope,
    attempts,
    attempt,
    otherTune,
    advice: otherTune ? [] : adviceOf(judgement, attempt.reference, tolerances, weights),
    wentWell: otherTune ? [] : wentWell(judgement, attempt.reference, tolerances),
    remarks: [
      ...scopeRemark(scope, reference),
      ...(otherTune ? [] : attemptsRemark(attempts)),
      ...judgement.remarks,
    ],
  };
}

function scopeRemark(
  { whole, named, lines: [first, last], from, to }: Scope,
  reference: Reference,
): string[] {
  if (whole) return [];
  const { notes } = reference;
  const byLine = notes[notes.length - 1].line > 1;
  const [bar, lastBar] = [notes[from].bar, notes[to - 1].bar];
  const part = byLine
    ? first === last
      ? `line ${first}`
      : `lines ${first} to ${last}`
    : bar === null || lastBar === null
      ? countedInWords(to - from, 'note')
      : `bars ${bar} to ${lastBar}`;
  return [
    named
      ? `judged on ${part} of '${reference.name}'`
      : `you played ${part} of '${reference.name}', so only that is judged`,
  ];
}

const ORDINALS = [
  'first',
  'second',
  'third',
  'fourth',
  'fifth',
  'sixth',
  'seventh',
  'eighth',
  'ninth',
  'tenth',
];

function attemptsRemark({ all, best, trend }: Attempts): string[] {
  if (trend === null) return [];
  const scores = all.map(({ score }) => Math.round(score.score));
  const rising =
    scores.every((score, i) => i === 0 || score >= scores[i - 1]) && scores[scores.length - 1] > scores[0];
  const way = rising
    ? 'better each time'
    : trend > 0
      ? 'better in the end'
      : trend < 0
        ? 'the last is not the best'
        : 'all much the same';
  const which = ORDINALS[best] ?? `${best + 1}th`;
  return [`${all.length} attempts: ${scores.join(', ')} of 100, ${way}; what follows is about the ${which}`];
}
