import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { ADVICE_WEIGHTS, parseAdviceWeights } from '../../check/advice/weights.ts';
import { againstEqual } from '../../check/align/equal.ts';
import { type CheckedTake, checkTake } from '../../check/check-take.ts';
import type { Tolerances } from '../../check/finding.ts';
import { compareTakes } from '../../check/progress/compare.ts';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import type { Take } from '../../take/schema.ts';
import { openReference } from '../hear/open-reference.ts';
import { openTake } from '../hear/open-take.ts';
import { readHarpOptions, readJson } from '../options/harp.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { runClass } from './class-run.ts';
import type { CheckCommandOptions } from './options.ts';
import { type CheckReport, checkJson, checkText } from './print.ts';
import { recordingProblems } from './recording-remarks.ts';
import { runWeeks } from './weeks-run.ts';

/**
 * Opens the student's take and the reference, judges, prints.
 * @returns `belowPassMark` when the score is below `--pass`, else `done`
 */
export async function runCheck(
  paths: readonly string[],
  options: CheckCommandOptions,
  io: Io,
): Promise<ExitCode> {
  const [path] = paths;
  const stdins = [...paths, options.against, options.before].filter((name) => name === '-').length;
  if (stdins > 1) {
    throw new ReedtraceError('E_USAGE', 'standard input can be read only once', 'name a file for the others');
  }
  const harp = await readHarpOptions(options);
  const tolerances: Tolerances = {
    bendCents: options.bendTolerance,
    timeSec: options.timeTolerance,
    leakDb: options.leakFrom,
    strict: options.strict ?? false,
  };
  const weights =
    options.adviceWeights === undefined
      ? ADVICE_WEIGHTS
      : parseAdviceWeights(await readJson(options.adviceWeights));
  const many = paths.length > 1 || options.weeks === true || (await isFolder(path));
  if (many && options.before !== undefined) {
    throw new ReedtraceError(
      'E_USAGE',
      '`--before` is for one recording, not for several',
      'leave it out, or name one recording',
    );
  }
  if (many) {
    const weeks = paths.length > 1 || options.weeks === true;
    if (!weeks && options.svg) {
      throw new ReedtraceError(
        'E_USAGE',
        '--svg is for one pupil over the weeks, not for a class',
        'add --weeks when the folder is one pupil',
      );
    }
    const checking = { tolerances, lines: options.line, weights };
    return weeks ? runWeeks(paths, options, harp, checking, io) : runClass(path, options, harp, checking, io);
  }
  if (options.csv || options.svg || options.out !== undefined) {
    throw new ReedtraceError(
      'E_USAGE',
      `'${path}' is not a folder; --csv, --svg and --out are for a class or for weeks`,
      'name a folder or several takes, or use `export --as html --against` for one page',
    );
  }
  const quiet = { quiet: options.quiet ?? false };
  const take = await openTake(path, harp, io, quiet);
  const reference = await openReference(options.against, take, harp, { ...options, fitRepeats: true }, io);
  const judged = (student: Take): CheckedTake =>
    checkTake(options.judgeBy === 'equal' ? againstEqual(student, options.a4) : student, reference, {
      tolerances,
      lines: options.line,
      weights,
    });
  const checked = judged(take);
  const earlier =
    options.before === undefined ? null : judged(await openTake(options.before, harp, io, quiet));
  const report: CheckReport = {
    student: path === '-' ? 'standard input' : basename(path),
    harp: take.harp,
    reference,
    checked,
    recording: await recordingProblems(path, take, io),
    tolerances,
    weights,
    judgeBy: options.judgeBy,
    changes: earlier === null ? null : compareTakes(earlier.attempt, checked.attempt, tolerances),
    pass: options.pass ?? null,
  };
  io.stdout.write(options.json ? checkJson(report) : checkText(report, columnsOf(io.stdout)));
  const { score } = checked.attempt.score;
  return options.pass !== undefined && score < options.pass ? EXIT.belowPassMark : EXIT.done;
}

const isFolder = (path: string): Promise<boolean> =>
  stat(path).then(
    (info) => info.isDirectory(),
    () => false, // opening it will say what is wrong
  );
