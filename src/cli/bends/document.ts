import type { JudgeBy } from '../../check/align/equal.ts';
import type { BendSummary, DatedTake, LeftOut } from '../../check/bends.ts';
import { formatTabNote, type TabStyle } from '../../tab/text.ts';
import { csvCell } from '../../text/csv.ts';
import { escapeXml } from '../../text/xml.ts';

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

const SIZE = { margin: 20, label: 70, plot: 600, side: 190, row: 36, title: 40, axis: 44 };
const EDGE_CENTS = 75;
const TICKS = [-75, -50, -25, 0, 25, 50, 75];
const INK = '#222222';

/** The strip plot as a stand-alone picture: a row a bend, a dot a note, a stroke at the median. */
export function bendsSvg({ summaries, tolerance }: BendsReport, style: TabStyle): string {
  const width = 2 * SIZE.margin + SIZE.label + SIZE.plot + SIZE.side;
  const height = 2 * SIZE.margin + SIZE.title + summaries.length * SIZE.row + SIZE.axis;
  const left = SIZE.margin + SIZE.label;
  const top = SIZE.margin + SIZE.title;
  const bottom = top + summaries.length * SIZE.row;
  const x = (cents: number): number => {
    const clipped = Math.max(-EDGE_CENTS, Math.min(EDGE_CENTS, cents));
    return round(left + ((clipped + EDGE_CENTS) / (2 * EDGE_CENTS)) * SIZE.plot, 1);
  };
  const over = summaries.some((summary) => summary.over);
  const words = summaries.map((summary) => `${formatTabNote(summary, style)}: ${inWords(summary)}`);
  const parts = [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-labelledby="title desc" font-family="sans-serif" font-size="13" fill="${INK}">`,
    '<title id="title">Bends against their targets</title>',
    `<desc id="desc">${escapeXml(words.join('; '))}</desc>`,
    `<rect width="${width}" height="${height}" fill="#ffffff"/>`,
    `<text x="${SIZE.margin}" y="${SIZE.margin + 16}" font-size="16">Bends against their targets, in cents (band: within ${tolerance})</text>`,
    `<rect x="${x(-tolerance)}" y="${top}" width="${round(x(tolerance) - x(-tolerance), 1)}" height="${bottom - top}" fill="#e3efe3"/>`,
  ];
  for (const cents of TICKS) {
    parts.push(
      `<line x1="${x(cents)}" y1="${top}" x2="${x(cents)}" y2="${bottom}" stroke="${cents === 0 ? INK : '#cccccc'}"/>`,
      `<text x="${x(cents)}" y="${bottom + 18}" text-anchor="middle">${cents > 0 ? '+' : ''}${cents}</text>`,
    );
  }
  parts.push(
    `<text x="${x(-EDGE_CENTS)}" y="${bottom + 36}">too deep${over ? ', overbend flat' : ''}</text>`,
    `<text x="${x(EDGE_CENTS)}" y="${bottom + 36}" text-anchor="end">${over ? 'overbend sharp, ' : ''}short</text>`,
  );
  summaries.forEach((summary, i) => {
    const y = top + (i + 0.5) * SIZE.row;
    parts.push(`<text x="${SIZE.margin}" y="${y + 5}">${escapeXml(formatTabNote(summary, style))}</text>`);
    for (const { cents } of summary.notes) {
      parts.push(`<circle cx="${x(cents)}" cy="${y}" r="5" fill="#1f5fa8" fill-opacity="0.45"/>`);
    }
    const middle = x(summary.medianCents);
    parts.push(
      `<line x1="${middle}" y1="${y - 12}" x2="${middle}" y2="${y + 12}" stroke="${INK}" stroke-width="3"/>`,
      `<text x="${left + SIZE.plot + 12}" y="${y + 5}">${escapeXml(inWords(summary))}</text>`,
    );
  });
  return `${[...parts, '</svg>'].join('\n')}\n`;
}

function inWords({ count, withinTolerance, medianCents }: BendSummary): string {
  const good = Math.round(withinTolerance * count);
  return `${good} of ${count} in tune, median ${medianCents > 0 ? '+' : ''}${Math.round(medianCents)}`;
}
