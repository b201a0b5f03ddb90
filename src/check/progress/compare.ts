import type { Reference } from '../align/reference.ts';
import { FINDING_KINDS, type FindingKind, type Tolerances } from '../finding.ts';
import type { JudgedNote, Judgement } from '../judging/judge.ts';
import { scoreOf } from '../score.ts';
import { holeName } from '../words.ts';
import { byChance, byScatter } from './chance.ts';

/** How one measure changed from an earlier take to this one. */
export interface Change {
  /** What is compared: the score, one kind of finding, one line, one bend, or something measured of all notes. */
  readonly of: 'score' | FindingKind | 'line' | 'bend' | 'time' | 'steadiness' | 'level';
  readonly measure: string;
  readonly before: number;
  readonly now: number;
  readonly unit: string;
  /** Chance alone moves it by no more than this, nineteen times in twenty. */
  readonly chance: number;
  /** `unchanged` when the difference is within what chance would make. */
  readonly verdict: 'better' | 'worse' | 'unchanged';
}

/** A take with what it is compared with. */
export interface Compared {
  readonly judgement: Judgement;
  readonly reference: Reference;
}

/** A measure: one value a note, smaller is better. */
interface Measure {
  readonly of: Change['of'];
  readonly name: string;
  readonly unit: string;
  readonly before: readonly number[];
  readonly now: readonly number[];
  /** What a mean of the values is shown as. */
  readonly shown: (mean: number, count: number) => number;
  /** A smaller difference of what is shown nobody hears: unchanged, however sure it is (common practice, no source). */
  readonly least: number;
}

const KIND_WORDS: Readonly<Record<FindingKind, string>> = {
  'wrong-note': 'wrong notes',
  octave: 'notes in the wrong octave',
  missed: 'missing notes',
  added: 'extra notes',
  restart: 'restarts',
  early: 'early notes',
  late: 'late notes',
  'bend-short': 'bends that stop short',
  'bend-sharp': 'bends that go too deep',
  'second-reed': 'notes with a second reed',
  'breath-noise': 'breathy notes',
  'same-pitch-other-hole': 'notes from another hole',
};

const asIs = (mean: number): number => mean;
const total = (mean: number, count: number): number => mean * count;
const percentRight = (mean: number): number => 100 * (1 - mean);

/** Two takes of one student against one reference: what got better first, then what got worse, then what stayed. */
export function compareTakes(before: Compared, now: Compared, tolerances: Tolerances): Change[] {
  const order = { better: 0, worse: 1, unchanged: 2 };
  return [
    scoreChange(before, now, tolerances),
    ...measuresOf(before, now, tolerances).flatMap(changeOf),
  ].sort((a, b) => order[a.verdict] - order[b.verdict]);
}

function changeOf({ of, name, unit, before, now, shown, least }: Measure): Change[] {
  if (before.length === 0 || now.length === 0) return [];
  const [was, is] = [meanOf(before), meanOf(now)];
  const { upTo, clear } = (
    of === 'bend' || of === 'time' || of === 'steadiness' || of === 'level' ? byScatter : byChance
  )(before, now);
  const [shownBefore, shownNow] = [shown(was, before.length), shown(is, now.length)];
  const heard = Math.abs(shownNow - shownBefore) >= least && is !== was;
  return [
    {
      of,
      measure: name,
      before: shownBefore,
      now: shownNow,
      unit,
      chance: Math.abs(shown(upTo, now.length) - shown(0, now.length)),
      verdict: !clear || !heard ? 'unchanged' : is < was ? 'better' : 'worse',
    },
  ];
}

/** The score, by what each note of the reference takes from it. */
function scoreChange(before: Compared, now: Compared, tolerances: Tolerances): Change {
  const [was, is] = [before, now].map(
    ({ judgement, reference }) => scoreOf(judgement, reference, tolerances).score,
  );
  const [lostBefore, lostNow] = [before, now].map(lossesOf);
  const { upTo, clear } = byChance(lostBefore, lostNow);
  // Losses are in points of the weights of `scoreOf`, so that what chance does is, too.
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

/** What each note of the reference costs of the 100 points, roughly: a wrong one, being off time, a bend, a second reed. */
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

function measuresOf(before: Compared, now: Compared, tolerances: Tolerances): Measure[] {
  const both = (values: (compared: Compared) => number[]): Pick<Measure, 'before' | 'now'> => ({
    before: values(before),
    now: values(now),
  });
  const measures: Measure[] = [
    ...bendsOf(both),
    ...FINDING_KINDS.filter((kind) => kind !== 'same-pitch-other-hole' || tolerances.strict)
      .map(
        (kind): Measure => ({
          of: kind,
          name: KIND_WORDS[kind],
          unit: 'notes',
          shown: total,
          least: 0,
          ...both((compared) => kindOf(kind, compared)),
        }),
      )
      .filter(({ before: was, now: is }) => was.some((value) => value > 0) || is.some((value) => value > 0)),
    ...linesIn(both, now),
    {
      of: 'time',
      name: 'distance from your own beat',
      unit: 'ms',
      shown: (mean) => 1000 * mean,
      least: 5,
      ...both(({ judgement }) =>
        judgement.notes.flatMap(({ lateSec }) => (lateSec === null ? [] : [Math.abs(lateSec)])),
      ),
    },
    {
      of: 'steadiness',
      name: 'unsteadiness of held notes',
      unit: 'cents',
      shown: asIs,
      least: 2,
      ...both(({ judgement }) =>
        judgement.notes.flatMap(({ note }) =>
          note.intonation === null ? [] : [note.intonation.steadinessCents],
        ),
      ),
    },
    {
      of: 'level',
      name: 'unevenness of level in a phrase',
      unit: 'dB',
      shown: asIs,
      least: 1,
      ...both(({ judgement }) => judgement.levels.map(({ spreadDb }) => spreadDb)),
    },
  ];
  return measures;
}

type Both = (values: (compared: Compared) => number[]) => Pick<Measure, 'before' | 'now'>;

/** 1 for each note that could have been wrong in this way and was, 0 for each that was not. */
function kindOf(kind: FindingKind, { judgement, reference }: Compared): number[] {
  const found = judgement.findings.filter((finding) => finding.kind === kind);
  if (kind === 'bend-short' || kind === 'bend-sharp') {
    const ids = new Set(found.map(({ noteId }) => noteId));
    return judgement.notes
      .filter(({ bend, note }) => bend && note.intonation !== null)
      .map(({ note }) => (ids.has(note.id) ? 1 : 0));
  }
  const count = Math.max(found.length, reference.notes.length);
  return Array.from({ length: count }, (_, i) => (i < found.length ? 1 : 0));
}

/** Each bend that both takes hold, by how far it is from its target. */
function bendsOf(both: Both): Measure[] {
  const namesOf = ({ judgement }: Compared): string[] =>
    judgement.notes.flatMap(({ target, note }) =>
      target === null || note.intonation === null ? [] : [holeName(target)],
    );
  const names = new Set<string>();
  both((compared) => {
    for (const name of namesOf(compared)) names.add(name);
    return [];
  });
  const distances =
    (wanted: string | null) =>
    ({ judgement }: Compared): number[] =>
      judgement.notes.flatMap(({ target, note, cents }) =>
        target === null || note.intonation === null || (wanted !== null && holeName(target) !== wanted)
          ? []
          : [Math.abs(cents)],
      );
  const measure = (name: string, wanted: string | null): Measure => ({
    of: 'bend',
    name,
    unit: 'cents',
    shown: asIs,
    least: 3,
    ...both(distances(wanted)),
  });
  return [
    measure('distance of bends from their targets', null),
    ...(names.size > 1
      ? [...names].sort().map((name) => measure(`distance of ${name} from its target`, name))
      : []),
  ];
}

/** Each line, by how many of its notes are right. */
function linesIn(both: Both, { reference }: Compared): Measure[] {
  const lines = [...new Set(reference.notes.map(({ line }) => line))];
  if (lines.length < 2) return [];
  return lines.map(
    (line): Measure => ({
      of: 'line',
      name: `line ${line}: notes right`,
      unit: '%',
      shown: percentRight,
      least: 0,
      ...both(({ judgement, reference: { notes } }) => {
        const right = new Set(
          judgement.notes.flatMap(({ referenceIndex, right: good }) =>
            good && referenceIndex !== null ? [referenceIndex] : [],
          ),
        );
        return notes.flatMap((note, b) => (note.line === line ? [right.has(b) ? 0 : 1] : []));
      }),
    }),
  );
}

const meanOf = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;
