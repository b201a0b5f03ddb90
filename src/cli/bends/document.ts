import type { JudgeBy } from '../../check/align/equal.ts';
import type { DoubtfulBend, LeftOut, PlayedBend } from '../../check/bends/collect.ts';
import type { DatedTake } from '../../check/bends/dated-take.ts';
import { approachInWords, type PracticePlan } from '../../check/bends/practice.ts';
import type { BendSummary } from '../../check/bends/summary.ts';
import { dayOf } from '../../check/progress/trend.ts';
import { bendsChart } from '../../export/bends-chart.ts';
import { type WeeksPanel, weeksChart } from '../../export/weeks-chart.ts';
import { formatTabNote, type TabStyle } from '../../tab/text.ts';
import { csvCell } from '../../text/csv.ts';
import type { DateFrom } from '../hear/played-on.ts';
import { trendInWords } from './trend-words.ts';

/** What `reedtrace bends` reports. */
export interface BendsReport {
  readonly takes: readonly (DatedTake & { readonly dateFrom: DateFrom | null })[];
  readonly summaries: readonly BendSummary[];
  readonly doubtful: readonly DoubtfulBend[];
  /** Null when not asked for. */
  readonly plan: PracticePlan | null;
  readonly leftOut: LeftOut;
  readonly tolerance: number;
  readonly judgeBy: JudgeBy;
}

const round = (value: number, digits: number): number => Number(value.toFixed(digits));

/** The bends as the document `reedtrace-bends`, version 1. */
export function bendsJson({
  takes,
  summaries,
  doubtful,
  leftOut,
  plan,
  tolerance,
  judgeBy,
}: BendsReport): string {
  const document = {
    format: 'reedtrace-bends',
    version: 1,
    toleranceCents: tolerance,
    judgeBy,
    takes: takes.map(({ name, take, date, dateFrom }) => ({
      file: name,
      date,
      dateFrom,
      harp: {
        key: take.harp.key,
        tuning: take.harp.tuning,
        temperament: take.harp.temperament,
        a4Hz: take.harp.a4Hz,
      },
    })),
    leftOut: Object.values(leftOut).reduce((sum, count) => sum + count, 0),
    leftOutBecause: leftOut,
    inDoubt: doubtful.map(({ takeName, noteId, onsetSec, readings }) => ({
      file: takeName,
      noteId,
      onsetSec,
      readings: readings.map(({ tab: { hole, breath, bend, over }, cents, confidence }) => ({
        hole,
        breath,
        bend,
        over,
        cents: round(cents, 1),
        confidence: round(confidence, 3),
      })),
    })),
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
    practice: plan === null ? null : planJson(plan),
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}

const planJson = ({ bends, minutes, cautions }: PracticePlan) => ({
  minutes,
  bends: bends.map(({ tab: { hole, breath, bend, over }, best, typical, ...bendPlan }) => ({
    hole,
    breath,
    bend,
    over,
    targetHz: round(bendPlan.targetHz, 2),
    plainHz: round(bendPlan.plainHz, 2),
    places: bendPlan.places,
    approaches: bendPlan.approaches.map((approach) => ({ ...approach, inWords: approachInWords(approach) })),
    best: attemptJson(best),
    typical: attemptJson(typical),
    listen: bendPlan.listen,
    steps: bendPlan.steps,
  })),
  cautions,
});

const attemptJson = ({ takeName, noteId, onsetSec, cents }: PlayedBend) => ({
  file: takeName,
  noteId,
  onsetSec,
  cents: round(cents, 1),
});

const COLUMNS = 'file,date,harp,note_id,onset_s,hole,breath,bend,over,cents,steadiness_cents,settle_s';

/** One row per note (RFC 4180); names that a spreadsheet would take for a formula are prefixed with an apostrophe. */
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

/** The strip plot as a stand-alone picture: one row per bend, one mark per note, a stroke at the median. */
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

/** Trends over days as a stand-alone picture, one row per bend; null when all takes are from one day. */
export function bendsWeeksSvg({ summaries, tolerance }: BendsReport, style: TabStyle): string | null {
  const dates = new Set(summaries.flatMap(({ notes }) => notes.flatMap(({ date }) => date ?? [])));
  if (dates.size < 2) return null;
  const panels = summaries.map((summary): WeeksPanel => {
    const words = trendInWords(summary).replace(/^; /, '');
    return {
      name: formatTabNote(summary, style),
      unit: 'cents',
      most: null,
      words: words === '' ? 'a trend needs three days or more' : words,
      points: summary.notes.flatMap(({ date, cents, takeName }) =>
        date === null
          ? []
          : [
              {
                day: dayOf(date),
                value: Math.abs(cents),
                told: `${Math.round(Math.abs(cents))} cents off in ${takeName}, ${date}`,
              },
            ],
      ),
      trend: summary.trend,
      goodUpTo: tolerance,
    };
  });
  return weeksChart('Distance of bends from their targets, day by day', panels);
}

/** Two pictures, one above the other, as one. */
export function stacked(upper: string, lower: string): string {
  const size = (svg: string): readonly [width: number, height: number] => {
    const [, width, height] = /viewBox="0 0 (\d+) (\d+)"/.exec(svg) ?? [];
    return [Number(width), Number(height)];
  };
  const [width, height] = size(upper);
  const [lowerWidth, lowerHeight] = size(lower);
  const whole = [Math.max(width, lowerWidth), height + lowerHeight] as const;
  const moved = lower.trim().replace('<svg ', `<svg y="${height}" `);
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${whole.join(' ')}" width="${whole[0]}" height="${whole[1]}">\n${upper.trim()}\n${moved}\n</svg>\n`;
}
