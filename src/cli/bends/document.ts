import type { JudgeBy } from '../../check/align/equal.ts';
import type { BendSummary, DatedTake, LeftOut } from '../../check/progress/bends.ts';
import { bendsChart } from '../../export/bends-chart.ts';
import { formatTabNote, type TabStyle } from '../../tab/text.ts';
import { csvCell } from '../../text/csv.ts';

/** What `reedtrace bends` has to say. */
export interface BendsReport {
  readonly takes: readonly DatedTake[];
  readonly summaries: readonly BendSummary[];
  readonly leftOut: LeftOut;
  readonly tolerance: number;
  readonly judgeBy: JudgeBy;
}

const round = (value: number, digits: number): number => Number(value.toFixed(digits));

/** The bends as the document `reedtrace-bends`, version 1. */
export function bendsJson({ takes, summaries, leftOut, tolerance, judgeBy }: BendsReport): string {
  const document = {
    format: 'reedtrace-bends',
    version: 1,
    toleranceCents: tolerance,
    judgeBy,
    takes: takes.map(({ name, take, date }) => ({
      file: name,
      date,
      harp: {
        key: take.harp.key,
        tuning: take.harp.tuning,
        temperament: take.harp.temperament,
        a4Hz: take.harp.a4Hz,
      },
    })),
    leftOut: leftOut.tooShort + leftOut.tooNoisy + leftOut.inDoubt,
    leftOutBecause: leftOut,
    bends: summaries.map((summary) => ({
      hole: summary.hole,
      breath: summary.breath,
      bend: summary.bend,
      over: summary.over,
      count: summary.count,
      medianCents: round(summary.medianCents, 1),
      spreadCents: round(summary.spreadCents, 1),
      withinTolerance: round(summary.withinTolerance, 3),
      short: summary.short,
      tooDeep: summary.tooDeep,
      steadinessCents: round(summary.steadinessCents, 1),
      settleSec: round(summary.settleSec, 3),
      trend:
        summary.trend === null
          ? null
          : {
              centsPerWeek: round(summary.trend.perWeek, 2),
              uncertaintyCentsPerWeek: round(summary.trend.uncertainty, 2),
              direction: summary.trend.direction,
              days: summary.trend.days,
            },
      notes: summary.notes.map((note) => ({
        file: note.takeName,
        date: note.date,
        noteId: note.noteId,
        onsetSec: note.onsetSec,
        cents: round(note.cents, 1),
      })),
    })),
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}

const COLUMNS = 'file,date,harp,note_id,onset_s,hole,breath,bend,over,cents,steadiness_cents,settle_s';

/** One row a note (RFC 4180); names that a spreadsheet would take for a formula begin with an apostrophe. */
export function bendsCsv({ summaries }: BendsReport): string {
  const rows = summaries.flatMap(({ notes }) =>
    notes.map((note) =>
      [
        csvCell(note.takeName),
        note.date ?? '',
        csvCell(note.harpKey),
        csvCell(note.noteId),
        round(note.onsetSec, 3),
        note.hole,
        note.breath,
        note.bend,
        note.over,
        round(note.cents, 1),
        round(note.steadinessCents, 1),
        round(note.settleSec, 3),
      ].join(','),
    ),
  );
  return [COLUMNS, ...rows].map((row) => `${row}\r\n`).join('');
}

/** The strip plot as a stand-alone picture: a row a bend, a mark a note, a stroke at the median. */
export function bendsSvg({ summaries, tolerance }: BendsReport, style: TabStyle): string {
  const over = summaries.some((summary) => summary.over);
  return bendsChart(
    summaries.map((summary) => ({
      name: formatTabNote(summary, style),
      words: inWords(summary),
      medianCents: summary.medianCents,
      notes: summary.notes.map(({ cents, takeName, onsetSec }) => ({
        cents,
        told: `${cents > 0 ? '+' : ''}${Math.round(cents)} cents in ${takeName} at ${onsetSec.toFixed(1)} s`,
      })),
    })),
    {
      title: 'Bends against their targets',
      toleranceCents: tolerance,
      left: `too deep${over ? ', overbend flat' : ''}`,
      right: `${over ? 'overbend sharp, ' : ''}short`,
    },
  );
}

function inWords({ count, withinTolerance, medianCents }: BendSummary): string {
  const good = Math.round(withinTolerance * count);
  return `${good} of ${count} in tune, median ${medianCents > 0 ? '+' : ''}${Math.round(medianCents)}`;
}
