import { REED_CAUSES, type ReedCause } from '../measures/reed-causes.ts';
import { ERROR_KIND_LABELS, ERROR_KINDS } from './error-kinds.ts';
import { addMeasured, calibrationError, f1, type Measured, quantile, reliability } from './measure.ts';

export type ByCategory = ReadonlyMap<string, Measured>;

/** Columns of text, the first flush left, the others flush right, two spaces apart. */
export function textTable(rows: readonly (readonly string[])[]): string {
  const widths = rows[0].map((_, column) => Math.max(...rows.map((row) => row[column].length)));
  return rows
    .map((row) =>
      row
        .map((cell, i) => (i === 0 ? cell.padEnd(widths[i]) : cell.padStart(widths[i])))
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}

const three = (value: number): string => value.toFixed(3);
const cents = (value: number | null): string => (value === null ? '-' : value.toFixed(2));

/** All takes together. */
export const total = (byCategory: ByCategory): Measured => addMeasured([...byCategory.values()]);

/** Scores by category and over all notes. */
export function scoreTable(byCategory: ByCategory): string {
  const head = [
    'category',
    'takes',
    'notes',
    'note F1',
    'at 100 ms',
    'with offset',
    'onset F1',
    'tab F1',
    'natural c50',
    'c90',
    'bent c50',
    'c90',
    'onset ms',
  ];
  const row = (name: string, m: Measured): string[] => [
    name,
    String(m.takes),
    String(m.note.reference),
    three(f1(m.note)),
    three(f1(m.note100)),
    three(f1(m.noteOffset)),
    three(f1(m.onset)),
    three(f1(m.tab)),
    cents(quantile(m.naturalCents, 0.5)),
    cents(quantile(m.naturalCents, 0.9)),
    cents(quantile(m.bentCents, 0.5)),
    cents(quantile(m.bentCents, 0.9)),
    ((quantile(m.onsetErrorSec, 0.5) ?? 0) * 1000).toFixed(0),
  ];
  return textTable([
    head,
    ...[...byCategory].map(([name, m]) => row(name, m)),
    row('all', total(byCategory)),
  ]);
}

/** Second reeds from -20 dB on by category. */
export function reedTable(byCategory: ByCategory): string {
  const row = (
    name: string,
    { loudReeds: { loud, found, said, right, levelErrorDb } }: Measured,
  ): string[] => [
    name,
    String(loud),
    String(found),
    loud === 0 ? '-' : three(found / loud),
    String(said),
    said === 0 ? '-' : three(right / said),
    cents(quantile(levelErrorDb, 0.5)),
    cents(quantile(levelErrorDb.map(Math.abs), 0.9)),
    levelErrorDb.length === 0
      ? '-'
      : three(levelErrorDb.filter((error) => Math.abs(error) <= 3).length / levelErrorDb.length),
  ];
  const head = [
    'from -20 dB on',
    'true',
    'found',
    'recall',
    'said',
    'precision',
    'level bias',
    '90 %',
    'in 3 dB',
  ];
  return textTable([
    head,
    ...[...byCategory]
      .filter(([, m]) => m.loudReeds.loud + m.loudReeds.said > 0)
      .map(([name, m]) => row(name, m)),
    row('all', total(byCategory)),
  ]);
}

/** Second reeds from -20 dB on that are missed or wrongly reported, by cause. */
export function reedCauseTable({ reedCauses }: Measured): string {
  const causes = Object.entries(REED_CAUSES) as [ReedCause, string][];
  const rows = causes.map(([cause, label]) => [
    label,
    String(reedCauses[cause].missed),
    String(reedCauses[cause].wronglySaid),
  ]);
  return textTable([['from -20 dB on, why', 'missed', 'wrongly said'], ...rows]);
}

/** How many notes are wrong in which way. */
export function errorTable(byCategory: ByCategory): string {
  const names = [...byCategory.keys()];
  const sum = total(byCategory);
  return textTable([
    ['kind of error', ...names, 'all'],
    ...ERROR_KINDS.map((kind) => [
      ERROR_KIND_LABELS[kind],
      ...names.map((name) => String(byCategory.get(name)!.errors[kind])),
      String(sum.errors[kind]),
    ]),
  ]);
}

/** Claimed and actual shares, and the expected calibration error. */
export function reliabilityTable(measured: Measured): string {
  const error = calibrationError(measured.confidence);
  if (error === null) return 'no confidence given';
  return `${textTable([
    ['confidence', 'notes', 'said', 'right'],
    ...reliability(measured.confidence).map((row) => [
      `${row.from.toFixed(1)} to ${row.to.toFixed(1)}`,
      String(row.count),
      three(row.meanConfidence),
      three(row.shareRight),
    ]),
  ])}\nexpected calibration error ${three(error)}`;
}

/** A transcriber's scores and its speed. */
export interface Rival {
  readonly name: string;
  readonly byCategory: ByCategory;
  /** Seconds of audio for each second of CPU time; null when not measured. */
  readonly realTimeFactor: number | null;
}

/** Kinds of take in the order of the comparison, with what they are called there; others follow under their names. */
const COMPARED: Readonly<Record<string, string>> = {
  clean: 'clean',
  bends: 'bends',
  fast: 'fast',
  ballad: 'slow, vibrato',
  leaky: 'leaky',
  rough: 'room, phone, noise',
  talk: 'talk between',
  guitar: 'guitar behind',
  click: 'click',
  lifelike: 'lifelike',
};

/** One row of the comparison: the program, and its cells in the order of the columns (null: not measured). */
export interface ComparisonRow {
  readonly name: string;
  readonly noteF1: readonly (number | null)[];
  readonly tabF1: number;
  readonly realTimeFactor: number | null;
}

/** Note F1 of several transcribers by category and over all notes, and tab F1 over all notes. */
export function comparison(rivals: readonly Rival[]): {
  readonly columns: readonly string[];
  readonly rows: readonly ComparisonRow[];
} {
  const present = new Set(rivals.flatMap((rival) => [...rival.byCategory.keys()]));
  const known = Object.keys(COMPARED).filter((category) => present.has(category));
  const categories = [...known, ...[...present].filter((category) => !(category in COMPARED))];
  return {
    columns: [...categories.map((category) => COMPARED[category] ?? category), 'all'],
    rows: rivals.map(({ name, byCategory, realTimeFactor }) => {
      const all = total(byCategory);
      const noteF1 = categories.map((category) => {
        const measured = byCategory.get(category);
        return measured ? f1(measured.note) : null;
      });
      return { name, noteF1: [...noteF1, f1(all.note)], tabF1: f1(all.tab), realTimeFactor };
    }),
  };
}

/** The comparison as text. */
export function comparisonTable(rivals: readonly Rival[]): string {
  const { columns, rows } = comparison(rivals);
  return textTable([
    ['note F1', ...columns, 'tab F1 all', 'x real time'],
    ...rows.map(({ name, noteF1, tabF1, realTimeFactor }) => [
      name,
      ...noteF1.map((value) => (value === null ? '-' : three(value))),
      three(tabF1),
      realTimeFactor === null ? '-' : realTimeFactor.toFixed(0),
    ]),
  ]);
}
