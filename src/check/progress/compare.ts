import type { Tolerances } from '../finding.ts';
import type { JudgedNote } from '../judging/judge.ts';
import { scoreOf } from '../score.ts';
import { byChance, byScatter } from './chance.ts';
import { type Compared, type Measure, type MeasureOf, measuresOf } from './measures.ts';

/** How one measure changed from an earlier take to this one. */
export interface Change {
  /** What is compared: the score, one kind of finding, one line, one bend, or something measured in all notes. */
  readonly of: 'score' | MeasureOf;
  readonly measure: string;
  readonly before: number;
  readonly now: number;
  readonly unit: string;
  /** In 95 cases out of 100, chance alone changes it by no more than this. */
  readonly chance: number;
  /** `unchanged` when chance alone could make the difference. */
  readonly verdict: 'better' | 'worse' | 'unchanged';
}

/** Compares two takes of one student with one reference: first what got better, then what got worse, then what stayed. */
export function compareTakes(before: Compared, now: Compared, tolerances: Tolerances): Change[] {
  const order = { better: 0, worse: 1, unchanged: 2 };
  return [
    scoreChange(before, now, tolerances),
    ...measuresOf([before, now], tolerances).flatMap((measure) => changeOf(measure, before, now)),
  ].sort((a, b) => order[a.verdict] - order[b.verdict]);
}

function changeOf(
  { of, name, unit, values, shown, least, measured }: Measure,
  before: Compared,
  now: Compared,
): Change[] {
  const [valuesBefore, valuesNow] = [values(before), values(now)];
  if (valuesBefore.length === 0 || valuesNow.length === 0) return [];
  const [was, is] = [meanOf(valuesBefore), meanOf(valuesNow)];
  const { upTo, clear } = (measured ? byScatter : byChance)(valuesBefore, valuesNow);
  const [shownBefore, shownNow] = [shown(was, valuesBefore.length), shown(is, valuesNow.length)];
  const heard = Math.abs(shownNow - shownBefore) >= least && is !== was;
  return [
    {
      of,
      measure: name,
      before: shownBefore,
      now: shownNow,
      unit,
      chance: Math.abs(shown(upTo, valuesNow.length) - shown(0, valuesNow.length)),
      verdict: !clear || !heard ? 'unchanged' : is < was ? 'better' : 'worse',
    },
  ];
}

/** The change of the score, from what each note of the reference takes off it. */
function scoreChange(before: Compared, now: Compared, tolerances: Tolerances): Change {
  const [was, is] = [before, now].map(
    ({ judgement, reference }) => scoreOf(judgement, reference, tolerances).score,
  );
  const [lostBefore, lostNow] = [before, now].map(lossesOf);
  const { upTo, clear } = byChance(lostBefore, lostNow);
  // Losses, and so the changes by chance, are in points of the weights of `scoreOf`.
  const chance = upTo * Math.min(lostBefore.length, lostNow.length);
  return {
    of: 'score',
    measure: 'score',
    before: was,
    now: is,
    unit: 'of 100',
    chance,
    verdict: !clear || was === is ? 'unchanged' : is > was ? 'better' : 'worse',
  };
}

/** Roughly how many of the 100 points each note of the reference costs: for a wrong note, bad time, a bend, a second reed. */
const LOSS = { wrong: 60, time: 20, bend: 10, clean: 10 };

function lossesOf({ judgement, reference }: Compared): number[] {
  const { findings, notes } = judgement;
  const count = reference.notes.length;
  const bends = Math.max(1, notes.filter(({ bend, note }) => bend && note.intonation !== null).length);
  const losses = new Array<number>(count).fill(0);
  for (const { kind, referenceIndex, timeSec } of findings) {
    const b = referenceIndex ?? nearest(notes, timeSec);
    if (b === null || b >= count) continue;
    if (kind === 'early' || kind === 'late') losses[b] += LOSS.time / count;
    else if (kind === 'bend-short' || kind === 'bend-sharp') losses[b] += LOSS.bend / bends;
    else if (kind === 'second-reed' || kind === 'breath-noise') losses[b] += LOSS.clean / count;
    else if (kind !== 'same-pitch-other-hole') losses[b] += LOSS.wrong / count;
  }
  return losses;
}

/** The note of the reference that was played before a time. */
function nearest(notes: readonly JudgedNote[], sec: number): number | null {
  return (
    notes.findLast(({ note, referenceIndex }) => referenceIndex !== null && note.onsetSec <= sec)
      ?.referenceIndex ?? null
  );
}

const meanOf = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
