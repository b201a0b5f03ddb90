import { basename } from 'node:path';
import { againstEqual } from '../../check/align/equal.ts';
import { type Reference, referenceFromMelody, referenceFromTake } from '../../check/align/reference.ts';
import { compareTakes } from '../../check/compare.ts';
import type { Tolerances } from '../../check/finding.ts';
import { type Judgement, judge } from '../../check/judge.ts';
import { scoreOf } from '../../check/score.ts';
import { wentWell, workOn } from '../../check/work.ts';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import { ownParts } from '../../harp/playable.ts';
import type { Take } from '../../take/schema.ts';
import { kindOfFile, onNamedHarp, openTake } from '../files/open-take.ts';
import { readTuneFile } from '../files/tune-file.ts';
import { type NamedHarp, readHarpOptions } from '../options/harp.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { oneLine } from '../terminal/message.ts';
import type { CheckCommandOptions } from './command.ts';
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

/** What a take is held against. A tab file lies on the student's own harp, since it names none. */
export async function openReference(
  path: string,
  student: Take,
  harp: NamedHarp,
  options: Pick<CheckCommandOptions, 'quiet' | 'tabStyle'>,
  io: Io,
): Promise<Reference> {
  const name = path === '-' ? 'standard input' : basename(path);
  const kind = path === '-' ? 'other' : await kindOfFile(path);
  if (kind === 'take' || kind === 'recording') {
    const quiet = { quiet: options.quiet ?? false };
    const take = await openTake(path, kind === 'take' ? {} : harp, io, quiet);
    // A reference has a harp of its own; what is named helps only where it doesn't hold its tuning.
    return referenceFromTake(name, onNamedHarp(take, { ...harp.custom, ...take.harp.custom }));
  }
  const { key, tuning } = student.harp;
  const own = harp.tuning === undefined ? ownParts(student.harp, student.harp.custom) : {};
  const named = { harp: key, tuning, ...harp, custom: { ...own, ...harp.custom } };
  const file = await readTuneFile(path, named, options.tabStyle, io.stdin);
  if (options.quiet !== true) {
    for (const remark of file.melody.remarks) io.stderr.write(`remark: ${oneLine(`${name}: ${remark}`)}\n`);
  }
  const { played } = file;
  return referenceFromMelody(
    name,
    file.melody,
    played === undefined
      ? null
      : { tonicMidi: played.harp.tonicMidi, tuning: played.layout.id, tab: played.tab },
  );
}
