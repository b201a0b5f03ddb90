import { basename } from 'node:path';
import { againstEqual } from '../../check/align/equal.ts';
import { compareTakes } from '../../check/compare.ts';
import type { Tolerances } from '../../check/finding.ts';
import { type Judgement, judge } from '../../check/judge.ts';
import { scoreOf } from '../../check/score.ts';
import { wentWell, workOn } from '../../check/work.ts';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import type { Take } from '../../take/schema.ts';
import { openReference } from '../hear/open-reference.ts';
import { openTake } from '../hear/open-take.ts';
import { readHarpOptions } from '../options/harp.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import type { CheckCommandOptions } from './options.ts';
import { type CheckReport, checkJson, checkText } from './print.ts';

/**
 * Opens the student's take and the reference, judges, prints.
 * @returns `belowPassMark` when the score is below `--pass`, else `done`
 */
export async function runCheck(path: string, options: CheckCommandOptions, io: Io): Promise<ExitCode> {
  const stdins = [path, options.against, options.before].filter((name) => name === '-').length;
  if (stdins > 1) {
    throw new ReedtraceError('E_USAGE', 'standard input can be read only once', 'name a file for the others');
  }
  const harp = await readHarpOptions(options);
  const quiet = { quiet: options.quiet ?? false };
  const take = await openTake(path, harp, io, quiet);
  const reference = await openReference(options.against, take, harp, options, io);
  const tolerances: Tolerances = {
    bendCents: options.bendTolerance,
    timeSec: options.timeTolerance,
    leakDb: options.leakFrom,
    strict: options.strict ?? false,
  };
  const judged = (student: Take): Judgement =>
    judge(options.judgeBy === 'equal' ? againstEqual(student, options.a4) : student, reference, tolerances);
  const judgement = judged(take);
  const before =
    options.before === undefined ? null : judged(await openTake(options.before, harp, io, quiet));
  const score = scoreOf(judgement, reference, tolerances);
  const report: CheckReport = {
    student: path === '-' ? 'standard input' : basename(path),
    harp: take.harp,
    reference,
    judgement,
    tolerances,
    judgeBy: options.judgeBy,
    score,
    workOn: workOn(judgement, reference, tolerances),
    wentWell: wentWell(judgement, reference, tolerances),
    changes: before === null ? null : compareTakes(before, judgement, tolerances),
    pass: options.pass ?? null,
  };
  io.stdout.write(options.json ? checkJson(report) : checkText(report, columnsOf(io.stdout)));
  return options.pass !== undefined && score.score < options.pass ? EXIT.belowPassMark : EXIT.done;
}
