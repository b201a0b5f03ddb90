import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import type { CheckOptions } from '../../check/check-take.ts';
import { coursesOf } from '../../check/progress/weeks.ts';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import { type Kept, writeResults } from '../files/kept-inputs.ts';
import { findRecordings, type Operand } from '../files/recordings.ts';
import { playedOn } from '../hear/played-on.ts';
import type { NamedHarp } from '../options/harp.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { filesIn, judgeFiles, readFor } from './judge-files.ts';
import type { CheckCommandOptions } from './options.ts';
import { weeksPage } from './weeks-page.ts';
import { type WeeksSource, weeksCsv, weeksJson, weeksSvg, weeksText } from './weeks-print.ts';

/**
 * Judges several takes of one pupil, in order of time, and how each measure changed. With `--out`, writes page,
 * picture, CSV and JSON there.
 * @returns the highest exit code among them
 * @throws ReedtraceError E_NOTHING_PLAYED when none of them can be judged
 */
export async function runWeeks(
  named: readonly string[],
  options: CheckCommandOptions,
  harp: NamedHarp,
  checking: CheckOptions,
  io: Io,
): Promise<ExitCode> {
  const operands = (await Promise.all(named.map(operandsOf))).flat();
  const { files, reference, code } = await judgeFiles(operands, 'takes', options, harp, checking, io);
  const takes = await Promise.all(
    files.flatMap((file) =>
      'checked' in file
        ? [
            playedOn(file.path, file.take, options.date).then((day) => ({
              name: basename(file.path),
              date: day?.date ?? null,
              dateFrom: day?.from ?? null,
              checked: file.checked,
            })),
          ]
        : [],
    ),
  );
  if (takes.length === 0) return code;
  // Undated takes come last, as their place is unknown.
  const ordered = takes.sort((a, b) => (a.date ?? '9').localeCompare(b.date ?? '9'));
  const { tolerances } = checking;
  const source: WeeksSource = {
    against: reference?.name ?? basename(options.against),
    takes: ordered,
    courses: coursesOf(ordered, tolerances),
    tolerances,
  };
  if (options.json) io.stdout.write(weeksJson(source));
  else if (options.csv) io.stdout.write(weeksCsv(source));
  else if (options.svg) {
    const picture = weeksSvg(source);
    if (picture === null)
      throw new ReedtraceError('E_USAGE', 'no take has a date', 'give the days with `--date`');
    io.stdout.write(picture);
  } else io.stdout.write(weeksText(source, columnsOf(io.stdout)));
  // After the table, so that a full disk doesn't lose it.
  if (options.out !== undefined) await writeWeeks(options.out, source, readFor(files, options.against));
  const { pass } = options;
  const last = ordered[ordered.length - 1].checked.attempt.score.score;
  return code === EXIT.done && pass !== undefined && last < pass ? EXIT.belowPassMark : code;
}

async function operandsOf(path: string): Promise<readonly Operand[]> {
  const isFolder = await stat(path).then(
    (info) => info.isDirectory(),
    () => false,
  );
  if (isFolder) return filesIn(path);
  return /\.take\.json$/i.test(path) ? [{ path }] : (await findRecordings([path])).operands;
}

async function writeWeeks(folder: string, source: WeeksSource, read: readonly Kept[]) {
  const picture = weeksSvg(source);
  const files = [
    { name: 'weeks.html', content: weeksPage(source) },
    ...(picture === null ? [] : [{ name: 'weeks.svg', content: picture }]),
    { name: 'weeks.csv', content: weeksCsv(source) },
    { name: 'weeks.json', content: weeksJson(source) },
  ];
  await writeResults(folder, files, read);
}
