import type { Advice } from '../../check/advice/advice.ts';
import { adviceInWords, firstInWords } from '../../check/advice/in-words.ts';
import type { TopicKind } from '../../check/advice/topics.ts';
import type { CheckedTake } from '../../check/check-take.ts';
import type { ClassReport, Need, Pupil } from '../../check/class.ts';
import { counted } from '../../text/counted.ts';
import { csvCell } from '../../text/csv.ts';
import { hung } from '../terminal/hung.ts';
import { oneLine } from '../terminal/message.ts';

/** A class, with each of its pupils. */
export interface ClassSource {
  readonly against: string;
  readonly pupils: readonly Pupil[];
  readonly report: ClassReport;
}

const NEEDS: Readonly<Record<TopicKind, string>> = {
  'wrong-note': 'the right notes',
  octave: 'the right octave',
  missed: 'all the notes',
  added: 'no extra notes',
  restart: 'playing on after a slip',
  early: 'waiting for the beat',
  late: 'being there in time',
  'bend-short': 'bends all the way down',
  'bend-sharp': 'bends that stop on their note',
  'second-reed': 'single notes, without a second reed',
  'breath-noise': 'less air, more tone',
  'same-pitch-other-hole': 'the holes of the tab',
  tempo: 'a steady tempo',
};

/** `bends all the way down: 12 of 18 pupils (ann, ben, …)`. */
export function needInWords({ kind, ids }: Need, judged: number): string {
  const named = ids.length > 6 ? `${ids.slice(0, 6).join(', ')} and ${ids.length - 6} more` : ids.join(', ');
  return `${NEEDS[kind]}: ${ids.length} of ${counted(judged, 'pupil')} (${named})`;
}

const round = (value: number, digits: number): number => Number(value.toFixed(digits));

/** The document `reedtrace-check-class`, version 1. */
export function classJson({ against, pupils, report }: ClassSource): string {
  const document = {
    format: 'reedtrace-check-class',
    version: 1,
    reference: { file: against },
    pupils: pupils.map((pupil) => {
      if ('error' in pupil)
        return {
          id: pupil.id,
          score: null,
          error: pupil.error,
          findings: [],
          workOn: [],
          wentWell: [],
          remarks: [],
        };
      const { checked } = pupil;
      const { scope, attempts, attempt, advice } = checked;
      return {
        id: pupil.id,
        score: round(attempt.score.score, 1),
        otherTune: checked.otherTune,
        parts: attempt.score.parts.map((part) => ({
          ...part,
          score: part.score === null ? null : round(part.score, 1),
        })),
        scope: { ...scope, lines: [...scope.lines] },
        attempts: attempts.all.map(({ score }) => round(score.score, 1)),
        findings: attempt.judgement.findings.map((finding) => ({
          ...finding,
          referenceIndex: finding.referenceIndex === null ? null : finding.referenceIndex + scope.from,
          timeSec: round(finding.timeSec, 3),
          value: finding.value === null ? null : round(finding.value, 3),
        })),
        advice: advice.map(({ kind, count, cost, message, practise }) => ({
          kind,
          count,
          cost: round(cost, 2),
          message,
          practise,
        })),
        workOn: advice.map(adviceInWords),
        wentWell: checked.wentWell,
        remarks: checked.remarks,
      };
    }),
    class: {
      ...report,
      medianScore: report.medianScore === null ? null : round(report.medianScore, 1),
      lowestScore: report.lowestScore === null ? null : round(report.lowestScore, 1),
      highestScore: report.highestScore === null ? null : round(report.highestScore, 1),
      needs: report.needs.map((need) => ({ ...need, cost: round(need.cost, 2) })),
    },
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}

const COLUMNS = 'pupil,score,notes,timing,bends,clean,played,attempts,first_point,practise,error';

/** One row per pupil (RFC 4180); what a spreadsheet would take for a formula is prefixed with an apostrophe. */
export function classCsv({ pupils }: ClassSource): string {
  const rows = pupils.map((pupil) => {
    if ('error' in pupil) return [pupil.id, '', '', '', '', '', '', '', '', '', pupil.error];
    const { scope, attempts, attempt, advice } = pupil.checked;
    const part = (name: string): string => {
      const found = attempt.score.parts.find((each) => each.part === name)?.score;
      return found === null || found === undefined ? '' : String(Math.round(found));
    };
    const first: Advice | undefined = advice[0];
    return [
      pupil.id,
      String(round(attempt.score.score, 1)),
      part('notes'),
      part('timing'),
      part('bends'),
      part('clean'),
      scope.whole ? 'all' : `lines ${scope.lines.join('-')}`,
      String(attempts.all.length),
      pupil.checked.otherTune ? firstInWords(pupil.checked) : (first?.message ?? ''),
      first?.practise ?? '',
      '',
    ];
  });
  return [COLUMNS, ...rows.map((row) => row.map((text) => csvCell(text)).join(','))]
    .map((row) => `${row}\r\n`)
    .join('');
}

/** `line 2 only; 3 attempts; one wrong note, in bar 5` */
export function rowInWords(checked: CheckedTake): string {
  const { scope, attempts } = checked;
  const [first, last] = scope.lines;
  return [
    ...(scope.whole ? [] : [first === last ? `line ${first} only` : `lines ${first} to ${last} only`]),
    ...(attempts.all.length > 1 ? [`${attempts.all.length} attempts`] : []),
    firstInWords(checked),
  ].join('; ');
}

/** The score in words; another tune has none. */
export const scoreInWords = ({ otherTune, attempt }: CheckedTake, none: string): string =>
  otherTune ? none : String(Math.round(attempt.score.score));

/** `median 94 of 100, from 86 to 100`; null when nobody was judged. */
export function middleInWords({ medianScore, lowestScore, highestScore }: ClassReport): string | null {
  if (medianScore === null) return null;
  return `median ${Math.round(medianScore)} of 100, from ${Math.round(lowestScore ?? 0)} to ${Math.round(highestScore ?? 0)}`;
}

/** Needs of several pupils; what only one needs is in that pupil's row. */
export const needsOfSeveral = ({ needs }: ClassReport): readonly Need[] =>
  needs.filter(({ ids }) => ids.length > 1);

/** The class as text: a table, what most need, who sent what. */
export function classText({ against, pupils, report }: ClassSource, columns: number): string {
  const width = Math.min(24, Math.max(5, ...pupils.map(({ id }) => id.length)));
  const middle = middleInWords(report);
  const lines = [
    `${report.judged} of ${counted(report.pupils, 'pupil')} compared with ${oneLine(against)}${middle === null ? '' : `: ${middle}`}`,
    '',
  ];
  for (const pupil of pupils) {
    const label = oneLine(pupil.id).slice(0, width).padEnd(width);
    if ('error' in pupil) {
      lines.push(...hung(`${label}    -`, `not judged: ${pupil.error}`, columns));
      continue;
    }
    const score = scoreInWords(pupil.checked, '-').padStart(5);
    lines.push(...hung(`${label}${score}`, rowInWords(pupil.checked), columns));
  }
  const needs = needsOfSeveral(report);
  if (needs.length > 0) {
    lines.push('', 'What several pupils need');
    for (const need of needs) lines.push(...hung('-', needInWords(need, report.judged), columns));
  }
  if (report.hardPlaces.length > 0) {
    lines.push('', 'Where several pupils stumble');
    for (const { place, ids } of report.hardPlaces)
      lines.push(...hung('-', `${place}: ${counted(ids.length, 'pupil')}`, columns));
  }
  if (report.otherTune.length > 0)
    lines.push('', ...hung('Probably sent another tune:', report.otherTune.join(', '), columns));
  if (report.sentPart.length > 0) {
    lines.push('', 'Sent only part of it');
    for (const { id, missingLines } of report.sentPart)
      lines.push(
        ...hung(
          '-',
          `${id}: ${missingLines.length === 1 ? 'line' : 'lines'} ${missingLines.join(', ')} missing`,
          columns,
        ),
      );
  }
  return `${lines.join('\n')}\n`;
}
