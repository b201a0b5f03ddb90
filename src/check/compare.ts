import { leaks } from './clean.ts';
import type { Tolerances } from './finding.ts';
import type { Judgement } from './judge.ts';

/** How one measure changed from an earlier take to this one. */
export interface Change {
  readonly measure: string;
  readonly before: number;
  readonly now: number;
  readonly unit: string;
  /** `unchanged` when the difference is within what chance would make. */
  readonly verdict: 'better' | 'worse' | 'unchanged';
}

/** A measure: one value a note, smaller is better. */
interface Measure {
  readonly name: string;
  readonly unit: string;
  readonly scale: number;
  /** A smaller difference, in that unit, nobody hears: unchanged, however sure it is (common practice, no source). */
  readonly least: number;
  values(judgement: Judgement, tolerances: Tolerances): number[];
}

const MEASURES: readonly Measure[] = [
  {
    name: 'wrong, added or missing notes',
    unit: '%',
    scale: 100,
    least: 0,
    values: ({ notes, missed }) => [
      ...notes.map(({ right }) => (right ? 0 : 1)),
      ...Array.from({ length: missed }, () => 1),
    ],
  },
  {
    name: 'distance from your own beat',
    unit: 'ms',
    scale: 1000,
    least: 5,
    values: ({ notes }) => notes.flatMap(({ lateSec }) => (lateSec === null ? [] : [Math.abs(lateSec)])),
  },
  {
    name: 'distance of bends from their targets',
    unit: 'cents',
    scale: 1,
    least: 3,
    values: ({ notes }) =>
      notes.flatMap(({ bend, cents, note }) => (bend && note.intonation !== null ? [Math.abs(cents)] : [])),
  },
  {
    name: 'unsteadiness of held notes',
    unit: 'cents',
    scale: 1,
    least: 2,
    values: ({ notes }) =>
      notes.flatMap(({ note }) => (note.intonation === null ? [] : [note.intonation.steadinessCents])),
  },
  {
    name: 'unevenness of level in a phrase',
    unit: 'dB',
    scale: 1,
    least: 1,
    values: ({ levels }) => levels.map(({ spreadDb }) => spreadDb),
  },
  {
    name: 'notes with a second reed',
    unit: '%',
    scale: 100,
    least: 0,
    values: ({ notes }, tolerances) => notes.map(({ note }) => (leaks(note, tolerances) ? 1 : 0)),
  },
];

/** Fewer values than this on one side tell nothing. */
const FEWEST = 4;
/** Standard errors that a difference must have (95 %; Welch, Biometrika 34, 28-35, 1947, without his small-sample part). */
const ERRORS = 2;

/** Two takes of one student, measure by measure; measures that one of them can't tell are left out. */
export function compareTakes(before: Judgement, now: Judgement, tolerances: Tolerances): Change[] {
  return MEASURES.flatMap(({ name, unit, scale, least, values }): Change[] => {
    const [old, fresh] = [values(before, tolerances), values(now, tolerances)];
    if (old.length < FEWEST || fresh.length < FEWEST) return [];
    const [was, is] = [momentsOf(old), momentsOf(fresh)];
    const error = Math.sqrt(was.variance / old.length + is.variance / fresh.length);
    const difference = is.mean - was.mean;
    const size = Math.abs(difference);
    const clear = difference !== 0 && size > ERRORS * error && size * scale >= least;
    const verdict = !clear ? 'unchanged' : difference < 0 ? 'better' : 'worse';
    return [{ measure: name, before: was.mean * scale, now: is.mean * scale, unit, verdict }];
  });
}

function momentsOf(values: readonly number[]): { mean: number; variance: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1);
  return { mean, variance };
}
