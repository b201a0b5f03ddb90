import { basename } from 'node:path';
import type { CheckOptions } from '../../check/check-take.ts';
import { classOf } from '../../check/class.ts';
import { EXIT, type ExitCode } from '../../errors.ts';
import { type Kept, writeResults } from '../files/kept-inputs.ts';
import type { NamedHarp } from '../options/harp.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { classPage, pupilPage } from './class-page.ts';
import { type ClassSource, classCsv, classJson, classText } from './class-print.ts';
import { filesIn, judgeFiles, readFor } from './judge-files.ts';
import type { CheckCommandOptions } from './options.ts';

/**
 * Judges a folder as a class; file names are the pupils. With `--out`, writes a page for each pupil and one for the
 * class, CSV and JSON there.
 * @returns the highest exit code among them
 */
export async function runClass(
  folder: string,
  options: CheckCommandOptions,
  harp: NamedHarp,
  checking: CheckOptions,
  io: Io,
): Promise<ExitCode> {
  const operands = await filesIn(folder);
  const { files, reference, code } = await judgeFiles(
    operands,
    basename(folder),
    options,
    harp,
    checking,
    io,
  );
  const source: ClassSource = {
    against: reference?.name ?? basename(options.against),
    pupils: files,
    report: classOf(files, reference),
  };
  if (options.json) io.stdout.write(classJson(source));
  else if (options.csv) io.stdout.write(classCsv(source));
  else io.stdout.write(classText(source, columnsOf(io.stdout)));
  // After the table, so that a full disk doesn't lose it.
  if (options.out !== undefined) await writePages(options.out, source, readFor(files, options.against));
  const { pass } = options;
  const below =
    pass !== undefined && files.some((file) => 'checked' in file && file.checked.attempt.score.score < pass);
  return code === EXIT.done && below ? EXIT.belowPassMark : code;
}

async function writePages(folder: string, source: ClassSource, read: readonly Kept[]) {
  // A pupil called "class" must not get the page of the class.
  const pageOf = (id: string): string => (id.toLowerCase() === 'class' ? `${id} (pupil).html` : `${id}.html`);
  const files = [
    ...source.pupils.map((pupil) => ({ name: pageOf(pupil.id), content: pupilPage(pupil, source.against) })),
    { name: 'class.html', content: classPage(source, pageOf) },
    { name: 'class.csv', content: classCsv(source) },
    { name: 'class.json', content: classJson(source) },
  ];
  await writeResults(folder, files, read);
}
