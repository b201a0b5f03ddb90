import type { Reference } from '../align/reference.ts';
import { FINDING_KINDS, type FindingKind, type Tolerances } from '../finding.ts';
import type { Judgement } from '../judging/judge.ts';
import { holeName } from '../words.ts';

/** A take and what it is compared with. */
export interface Compared {
  readonly judgement: Judgement;
  readonly reference: Reference;
}

/** What is measured: one kind of finding, one line, one bend, or something about all notes. */
export type MeasureOf = FindingKind | 'line' | 'bend' | 'time' | 'steadiness' | 'level';

/** Something measured in a take: one value per note, smaller is better. */
export interface Measure {
  readonly of: MeasureOf;
  readonly name: string;
  readonly unit: string;
  readonly values: (compared: Compared) => number[];
  /** How the mean of this many values is shown. */
  readonly shown: (mean: number, count: number) => number;
  /** The same in a form that does not depend on the length of the take, with its unit. */
  readonly rate: { readonly unit: string; readonly shown: (mean: number) => number };
  /** Nobody hears a smaller difference than this, so it counts as unchanged, however sure it is (common practice, no source). */
  readonly least: number;
  /** True where values are measured, so that their scatter shows how sure a mean is; false where each is right or wrong. */
  readonly measured: boolean;
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

/** A measure whose mean is shown as it is. */
const plain = (
  of: MeasureOf,
  name: string,
  unit: string,
  least: number,
  values: Measure['values'],
  times = 1,
): Measure => {
  const shown = (mean: number): number => times * mean;
  return { of, name, unit, values, shown, rate: { unit, shown }, least, measured: true };
};

/** Everything that can be measured in any of these takes; kinds of finding and bends that none of them has are left out. */
export function measuresOf(takes: readonly Compared[], tolerances: Tolerances): Measure[] {
  return [
    ...bendsOf(takes),
    ...FINDING_KINDS.filter((kind) => kind !== 'same-pitch-other-hole' || tolerances.strict)
      .filter((kind) => takes.some(({ judgement }) => judgement.findings.some((each) => each.kind === kind)))
      .map(kindMeasure),
    ...linesOf(takes),
    plain(
      'time',
      'distance from your own beat',
      'ms',
      5,
      ({ judgement }) =>
        judgement.notes.flatMap(({ lateSec }) => (lateSec === null ? [] : [Math.abs(lateSec)])),
      1000,
    ),
    plain('steadiness', 'unsteadiness of held notes', 'cents', 2, ({ judgement }) =>
      judgement.notes.flatMap(({ note }) =>
        note.intonation === null ? [] : [note.intonation.steadinessCents],
      ),
    ),
    plain('level', 'unevenness of level in a phrase', 'dB', 1, ({ judgement }) =>
      judgement.levels.map(({ spreadDb }) => spreadDb),
    ),
  ];
}

function kindMeasure(kind: FindingKind): Measure {
  return {
    of: kind,
    name: KIND_WORDS[kind],
    unit: 'notes',
    values: (compared) => withKind(kind, compared),
    shown: (mean, count) => mean * count,
    rate: {
      unit: kind === 'bend-short' || kind === 'bend-sharp' ? 'in 100 bends' : 'in 100 notes',
      shown: (mean) => 100 * mean,
    },
    least: 0,
    measured: false,
  };
}

/** 1 for each note that could have been wrong in this way and was, 0 for each that was not. */
function withKind(kind: FindingKind, { judgement, reference }: Compared): number[] {
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

/** All bends together, then each, by how far they are from their targets. */
function bendsOf(takes: readonly Compared[]): Measure[] {
  const names = new Set(
    takes.flatMap(({ judgement }) =>
      judgement.notes.flatMap(({ target, note }) =>
        target === null || note.intonation === null ? [] : [holeName(target)],
      ),
    ),
  );
  const measure = (name: string, wanted: string | null): Measure =>
    plain('bend', name, 'cents', 3, ({ judgement }) =>
      judgement.notes.flatMap(({ target, note, cents }) =>
        target === null || note.intonation === null || (wanted !== null && holeName(target) !== wanted)
          ? []
          : [Math.abs(cents)],
      ),
    );
  return [
    measure('distance of bends from their targets', null),
    ...(names.size > 1
      ? [...names].sort().map((name) => measure(`distance of ${name} from its target`, name))
      : []),
  ];
}

/** Each line, by how many of its notes are right. */
function linesOf(takes: readonly Compared[]): Measure[] {
  const lines = [...new Set(takes.flatMap(({ reference }) => reference.notes.map(({ line }) => line)))];
  if (lines.length < 2) return [];
  const shown = (mean: number): number => 100 * (1 - mean);
  return lines
    .sort((a, b) => a - b)
    .map(
      (line): Measure => ({
        of: 'line',
        name: `line ${line}: notes right`,
        unit: '%',
        values: ({ judgement, reference: { notes } }) => {
          const right = new Set(
            judgement.notes.flatMap(({ referenceIndex, right: good }) =>
              good && referenceIndex !== null ? [referenceIndex] : [],
            ),
          );
          return notes.flatMap((note, b) => (note.line === line ? [right.has(b) ? 0 : 1] : []));
        },
        shown,
        rate: { unit: '%', shown },
        least: 0,
        measured: false,
      }),
    );
}
