import { adviceInWords, capital } from '../../check/advice/in-words.ts';
import type { AdviceWeights } from '../../check/advice/weights.ts';
import type { JudgeBy } from '../../check/align/equal.ts';
import type { Reference } from '../../check/align/reference.ts';
import type { CheckedTake } from '../../check/check-take.ts';
import type { Finding, Tolerances } from '../../check/finding.ts';
import type { Judgement } from '../../check/judging/judge.ts';
import type { Change } from '../../check/progress/compare.ts';
import { placeInWords } from '../../check/words.ts';
import type { Problem } from '../../recording/problem.ts';
import type { TakeHarp } from '../../take/schema.ts';
import { hung } from '../terminal/hung.ts';
import { oneLine } from '../terminal/message.ts';
import { recordingLines } from './recording-remarks.ts';

/** What `reedtrace check` reports. */
export interface CheckReport {
  readonly student: string;
  readonly harp: TakeHarp;
  readonly reference: Reference;
  readonly checked: CheckedTake;
  /** What is wrong with the recording; null when it was not examined. */
  readonly recording: readonly Problem[] | null;
  readonly tolerances: Tolerances;
  readonly weights: AdviceWeights;
  readonly judgeBy: JudgeBy;
  /** Changes from an earlier take; null when none was given. */
  readonly changes: readonly Change[] | null;
  readonly pass: number | null;
}

const round = (value: number, digits: number): number => Number(value.toFixed(digits));

/** The document `reedtrace-check`, version 1. */
export function checkJson(report: CheckReport): string {
  const { reference, tolerances, changes, checked } = report;
  const { scope, attempts, advice, attempt } = checked;
  const { judgement, score } = attempt;
  const document = {
    format: 'reedtrace-check',
    version: 1,
    student: {
      file: report.student,
      harp: { key: report.harp.key, tuning: report.harp.tuning, a4Hz: report.harp.a4Hz },
    },
    reference: {
      file: reference.name,
      notes: reference.notes.length,
      shiftSemitones: judgement.match.shift,
    },
    recording:
      report.recording === null
        ? null
        : {
            problems: report.recording.map(({ kind, severity, message, spoils, cure }) => ({
              kind,
              severity,
              message,
              spoils,
              cure,
            })),
          },
    tolerances: { ...tolerances, judgeBy: report.judgeBy },
    score: round(score.score, 1),
    parts: score.parts.map((part) => ({ ...part, score: part.score === null ? null : round(part.score, 1) })),
    pass: report.pass,
    otherTune: checked.otherTune,
    scope: { ...scope, lines: [...scope.lines] },
    attempts: attempts.all.map(
      ({ fromSec, toSec, score: { score: points }, judgement: { findings } }, i) => ({
        fromSec: round(fromSec, 3),
        toSec: round(toSec, 3),
        score: round(points, 1),
        findings: findings.length,
        best: i === attempts.best,
      }),
    ),
    findings: judgement.findings.map((finding) => ({
      ...finding,
      referenceIndex: finding.referenceIndex === null ? null : finding.referenceIndex + scope.from,
      timeSec: round(finding.timeSec, 3),
      value: finding.value === null ? null : round(finding.value, 3),
    })),
    workOn: advice.map(adviceInWords),
    advice: advice.map(({ referenceIndexes, cost, ...point }) => ({
      ...point,
      cost: round(cost, 2),
      referenceIndexes: referenceIndexes.map((b) => b + scope.from),
    })),
    adviceWeights: report.weights,
    wentWell: checked.wentWell,
    tempoChange: judgement.tempoChange === null ? null : round(judgement.tempoChange, 3),
    unevenSec: judgement.unevenSec === null ? null : round(judgement.unevenSec, 3),
    levels: judgement.levels.map((level) => ({
      ...level,
      fromSec: round(level.fromSec, 3),
      spreadDb: round(level.spreadDb, 1),
      changeDb: round(level.changeDb, 1),
    })),
    remarks: checked.remarks,
    changes:
      changes === null
        ? null
        : changes.map((change) => ({
            ...change,
            before: round(change.before, 2),
            now: round(change.now, 2),
            chance: round(change.chance, 2),
          })),
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}

/** The report as text. */
export function checkText(report: CheckReport, columns: number): string {
  const { reference, tolerances, changes, pass, checked } = report;
  const { advice, wentWell } = checked;
  const { judgement, score, reference: played } = checked.attempt;
  const mark = Math.round(score.score);
  const passed =
    pass === null ? '' : score.score >= pass ? `, passes ${pass}` : `, below the pass mark ${pass}`;
  const troubles = recordingLines(report.recording);
  if (checked.otherTune) return otherTuneText(report, troubles, columns);
  const lines = [
    ...troublesText(troubles, columns),
    `${oneLine(report.student)} compared with ${oneLine(reference.name)}: ${mark} of 100${passed}`,
    ...score.parts.map(
      ({ part, score: points, because }) =>
        `  ${part.padEnd(7)}${(points === null ? '-' : String(Math.round(points))).padStart(4)}   ${because}`,
    ),
    ...checked.remarks.flatMap((remark) => hung('  note:', remark, columns)),
    '',
  ];
  if (advice.length > 0) {
    lines.push(advice.length === 1 ? 'Work on' : 'Work on first');
    advice.forEach(({ message, practise }, i) => {
      lines.push(
        ...hung(`${i + 1}.`, `${capital(message)}.`, columns),
        ...hung('   ', `${capital(practise)}.`, columns),
      );
    });
    lines.push('');
  }
  if (wentWell.length > 0) {
    lines.push('Went well');
    for (const text of wentWell) lines.push(...hung('-', text, columns));
    lines.push('');
  }
  if (judgement.findings.length === 0) lines.push('no faults found');
  else lines.push('Note by note');
  for (const { finding, message } of grouped(judgement, played)) {
    lines.push(...hung(clock(finding), message, columns));
  }
  if (changes !== null) {
    lines.push('', 'Since the earlier take');
    for (const change of changes.filter(({ of, verdict }) => of === 'score' || verdict !== 'unchanged'))
      lines.push(...hung('-', inWords(change), columns));
    const same = changes.filter(({ of, verdict }) => of !== 'score' && verdict === 'unchanged');
    if (same.length > 0)
      lines.push(...hung('-', `no clear change: ${same.map(({ measure }) => measure).join(', ')}`, columns));
  }
  const against = report.judgeBy === 'harp' ? "the harp's own tuning" : 'equal temperament';
  const judged = `bends within ${tolerances.bendCents} cents of ${against}, time within ${tolerances.timeSec} s, second reeds from ${tolerances.leakDb} dB`;
  lines.push('', ...hung('judged:', judged, columns));
  return `${lines.join('\n')}\n`;
}

function troublesText(troubles: readonly string[], columns: number): string[] {
  if (troubles.length === 0) return [];
  const what = '`reedtrace recording` with the file says what to do about it';
  return [
    ...troubles.flatMap((line) => hung('recording:', line, columns)),
    ...hung('   ', what, columns),
    '',
  ];
}

/** The report when another tune was played: the playing is not judged. */
function otherTuneText(
  { student, reference, checked }: CheckReport,
  troubles: readonly string[],
  columns: number,
): string {
  const name = oneLine(reference.name);
  const lines = [
    ...troublesText(troubles, columns),
    `${oneLine(student)} compared with ${name}: probably another tune`,
    ...checked.remarks.flatMap((remark) => hung('  note:', remark, columns)),
    '',
    ...hung('-', 'if it is the wrong recording, check the right one', columns),
    ...hung('-', `if it is a different tune, name that tune with --against`, columns),
    ...hung(
      '-',
      'if only part of the tune was played, name its lines with --line, such as --line 2',
      columns,
    ),
    ...hung('-', 'if the harp is a different one, name its key with --harp', columns),
  ];
  return `${lines.join('\n')}\n`;
}

/** This many extra or missing notes in a row, or more, share one line. */
const MANY = 4;

/** Findings with the line printed for each: a run of extra or missing notes shares one line, with the first of them. */
function grouped({ findings }: Judgement, reference: Reference): { finding: Finding; message: string }[] {
  const lines: { finding: Finding; message: string }[] = [];
  for (let i = 0; i < findings.length; ) {
    let end = i;
    // Findings about the tone of an extra note are part of the run.
    while (end < findings.length && findings[end].referenceIndex === null) end++;
    const added = findings.slice(i, end).filter(({ kind }) => kind === 'added');
    const missing = missingFrom(findings, i);
    if (added.length >= MANY) {
      const message = `${added.length} extra notes, up to ${clock(added[added.length - 1])}`;
      lines.push({ finding: added[0], message });
      i = end;
    } else if (missing >= MANY) {
      const [first, last] = [findings[i], findings[i + missing - 1]].map(({ referenceIndex }) =>
        placeInWords(reference.notes[referenceIndex!]),
      );
      const where = first === last ? `in ${first}` : `from ${first} to ${last}`;
      lines.push({ finding: findings[i], message: `${missing} notes in a row are missing, ${where}` });
      i += missing;
    } else {
      lines.push({ finding: findings[i], message: findings[i].message });
      i++;
    }
  }
  return lines;
}

/** How many findings from one on are missing notes that follow each other in the reference. */
function missingFrom(findings: readonly Finding[], from: number): number {
  let count = 0;
  while (
    findings[from + count]?.kind === 'missed' &&
    findings[from + count].referenceIndex === findings[from].referenceIndex! + count
  )
    count++;
  return count;
}

function inWords({ measure, before, now, unit, chance, verdict }: Change): string {
  const digits = unit === 'cents' || unit === 'dB' ? 1 : 0;
  const told = unit === 'notes' ? '' : ` ${unit}`;
  const luck =
    verdict === 'unchanged' ? 'could be chance' : `chance alone moves it by up to ${chance.toFixed(digits)}`;
  return `${verdict === 'unchanged' ? 'no clear change' : verdict}: ${measure}, ${before.toFixed(digits)} before, ${now.toFixed(digits)}${told} now (${luck})`;
}

/** `0:03.2` */
function clock({ timeSec }: Finding): string {
  const tenths = Math.round(timeSec * 10);
  const minutes = Math.floor(tenths / 600);
  const rest = (tenths - 600 * minutes) / 10;
  return `${minutes}:${rest.toFixed(1).padStart(4, '0')}`;
}
