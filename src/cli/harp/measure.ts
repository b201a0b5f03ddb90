import { basename } from 'node:path';
import type { ReadOptions, Recording } from '../../audio/read.ts';
import { ReedtraceError } from '../../errors.ts';
import { chartRows, chartText } from '../../harp/chart.ts';
import { type HarpMeasurement, measureHarp } from '../../harp/measure.ts';
import { temperamentById } from '../../harp/temperaments.ts';
import type { CustomHarp } from '../../harp/types.ts';
import type { Note } from '../../tab/note.ts';
import { withArticle } from '../../text/article.ts';
import type { Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import { createProgress } from '../terminal/progress.ts';
import type { HarpDescription } from './chart.ts';

/** The stages of work that measuring needs. */
export interface MeasureEngine {
  readRecording(path: string, options: ReadOptions): Promise<Recording>;
  transcribe(
    samples: Recording['samples'],
    options: {
      harp: string;
      tuning: string;
      custom?: CustomHarp;
      signal: AbortSignal;
      onProgress: (stage: string, fraction: number) => void;
    },
  ): Promise<{ readonly notes: readonly Pick<Note, 'onsetSec' | 'offsetSec' | 'f0Hz'>[] }>;
  readonly stages: readonly string[];
}

const READING = 'reading';
/** Shorter notes are not held reeds. */
const HELD_SEC = 0.4;
/** Beyond this a reed is called out of tune: the upper end of what listeners can tell apart (5 to 10 cents). */
const OUT_OF_TUNE_CENTS = 10;

/**
 * Measures a harp from a recording in which each reed is held in turn.
 * @throws ReedtraceError E_NOTHING_PLAYED when fewer than half of the reeds are heard, and what reading throws
 */
export async function measureRecording(
  path: string,
  harp: HarpDescription,
  options: { readonly quiet: boolean },
  io: Io,
  engine: MeasureEngine,
): Promise<HarpMeasurement> {
  const progress = createProgress(io, { quiet: options.quiet, stages: [READING, ...engine.stages] });
  try {
    progress.begin(basename(path));
    const recording = await engine.readRecording(path, {
      signal: io.signal,
      onProgress: (fraction) => progress.report(READING, fraction),
    });
    const { notes } = await engine.transcribe(recording.samples, {
      harp: harp.spec.key,
      tuning: harp.spec.tuning,
      custom: { layout: harp.layout },
      signal: io.signal,
      onProgress: (stage, fraction) => progress.report(stage, fraction),
    });
    progress.clear();
    if (!options.quiet) {
      for (const remark of recording.remarks) io.stderr.write(`remark: ${oneLine(remark)}\n`);
    }
    const held = notes.filter((note) => note.offsetSec - note.onsetSec >= HELD_SEC);
    const measured = measureHarp(
      held.map((note) => note.f0Hz),
      harp.spec,
      { layout: harp.layout },
    );
    if (measured === null) {
      throw new ReedtraceError(
        'E_NOTHING_PLAYED',
        `'${basename(path)}' holds fewer than half of the reeds of ${withArticle(`${harp.spec.key} harp`)}`,
        'hold each reed for a second, hole by hole, blow then draw; check the key',
      );
    }
    return measured;
  } finally {
    progress.clear();
  }
}

/** The measurement as text. */
export function measureText(harp: HarpDescription, measured: HarpMeasurement): string {
  const cents = new Map(measured.reeds.map((reed) => [`${reed.hole}${reed.breath}`, reed.equalCents]));
  const rows = chartRows(harp.notes).filter((row) => row.kind === 'reed' || row.kind === 'hole');
  const chart = chartText(rows, ({ hole, breath }) => signed(cents.get(`${hole}${breath}`) ?? null));
  const nearest = temperamentById(measured.nearest).name;
  return [
    `${harp.spec.key} harp, ${harp.layout.name}, as measured`,
    `A4 = ${measured.a4Hz.toFixed(1)} Hz; nearest temperament: ${nearest}, ${measured.residualCents.toFixed(1)} cents off on average`,
    'cents from equal temperament at that A4',
    '',
    chart,
    ...verdicts(measured),
    '',
  ].join('\n');
}

function verdicts(measured: HarpMeasurement): string[] {
  const name = ({ hole, breath }: { hole: number; breath: string }) => `${hole} ${breath}`;
  const off = measured.reeds.filter(
    (reed) => reed.offCents !== null && Math.abs(reed.offCents) > OUT_OF_TUNE_CENTS,
  );
  const unheard = measured.reeds.filter((reed) => reed.f0Hz === null);
  const gaps = measured.gapCents.flatMap((gap, i) =>
    gap !== null && Math.abs(gap) > OUT_OF_TUNE_CENTS ? [`hole ${i + 1} ${signed(gap)}`] : [],
  );
  return [
    off.length === 0
      ? `No reed is more than ${OUT_OF_TUNE_CENTS} cents from that temperament.`
      : `Out of tune: ${off.map((reed) => `${name(reed)} ${signed(reed.offCents)}`).join(', ')}.`,
    ...(gaps.length === 0 ? [] : [`From blow to draw reed, against that temperament: ${gaps.join(', ')}.`]),
    ...(unheard.length === 0 ? [] : [`Not heard: ${unheard.map(name).join(', ')}.`]),
    ...(measured.strayNotes === 0
      ? []
      : [
          `${measured.strayNotes} held ${measured.strayNotes === 1 ? 'note' : 'notes'} did not fit the reeds in order.`,
        ]),
  ];
}

/** The same as JSON; it is also a temperament file for `--temperament`. */
export function measureJson(harp: HarpDescription, measured: HarpMeasurement): string {
  const { table, reeds, gapCents, ...rest } = measured;
  const document = {
    format: 'reedtrace-harp-measure',
    version: 1,
    name: table.name,
    harp: { key: harp.spec.key, tuning: harp.spec.tuning },
    ...rest,
    blow: table.blow.map(tenth),
    draw: table.draw.map(tenth),
    reeds,
    gapCents,
  };
  return `${JSON.stringify(document, null, 2)}\n`;
}

function signed(cents: number | null): string {
  if (cents === null) return '?';
  const whole = Math.round(cents);
  return whole > 0 ? `+${whole}` : `${whole === 0 ? 0 : whole}`;
}

function tenth(cents: number): number {
  return Number(cents.toFixed(1)) + 0;
}
