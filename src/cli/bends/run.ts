import { readdir } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { againstEqual } from '../../check/align/equal.ts';
import type { Reference } from '../../check/align/reference.ts';
import { collectBends } from '../../check/bends/collect.ts';
import { type AskedBend, withoutCopies } from '../../check/bends/dated-take.ts';
import { practicePlan, tuneOnHarp } from '../../check/bends/practice.ts';
import { summariseBends } from '../../check/bends/summary.ts';
import { checkTake } from '../../check/check-take.ts';
import { TOLERANCES } from '../../check/finding.ts';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import type { Take } from '../../take/schema.ts';
import { findRecordings, type Operand } from '../files/recordings.ts';
import { openReference } from '../hear/open-reference.ts';
import { openTake } from '../hear/open-take.ts';
import { playedOn } from '../hear/played-on.ts';
import { readHarpOptions } from '../options/harp.ts';
import { reportFault } from '../terminal/fault-report.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { errorLine, isInterruption, oneLine, worse } from '../terminal/message.ts';
import { type BendsReport, bendsCsv, bendsJson, bendsSvg, bendsWeeksSvg, stacked } from './document.ts';
import type { OpenedTake } from './opened-take.ts';
import type { BendsCommandOptions } from './options.ts';
import { writePage } from './page.ts';
import { bendsText, leftOutInWords } from './print.ts';

/**
 * Opens all takes, sums up their bends, prints. A take that can't be opened doesn't stop the others.
 * @returns the highest exit code among them
 * @throws ReedtraceError E_NOTHING_PLAYED when no take holds a bend that can be judged
 */
export async function runBends(
  named: readonly string[],
  options: BendsCommandOptions,
  io: Io,
): Promise<ExitCode> {
  const harp = await readHarpOptions(options);
  const { operands } = await findRecordings(await openFolders(named));
  const opened: OpenedTake[] = [];
  let code: ExitCode = EXIT.done;
  for (const operand of operands) {
    if (io.signal.aborted) throw new ReedtraceError('E_INTERRUPTED', 'stopped', 'run the command again');
    try {
      opened.push(await openDated(operand, harp, options, io));
    } catch (error) {
      if (isInterruption(error)) throw error;
      if (!(error instanceof ReedtraceError)) {
        code = worse(code, await reportFault(io, error, [operand.path], options.debug ?? false));
        continue;
      }
      io.stderr.write(errorLine(error));
      code = worse(code, error.exitCode);
    }
  }
  if (opened.length === 0) return code;
  const { takes, copies } = withoutCopies(opened);
  for (const { name, of } of copies) {
    const what = name === of ? `${name} is given twice` : `${name} is of the same recording as ${of}`;
    io.stderr.write(`${what}: counted once\n`);
  }
  const report = reportOn(takes, options);
  if (options.json) {
    io.stdout.write(bendsJson(report));
  } else if (report.summaries.length === 0) {
    throw nothingToJudge(report);
  } else if (options.csv) {
    io.stdout.write(bendsCsv(report));
  } else if (options.svg) {
    const strips = bendsSvg(report, options.tabStyle);
    const weeks = bendsWeeksSvg(report, options.tabStyle);
    io.stdout.write(weeks === null ? strips : stacked(strips, weeks));
  } else if (options.html === undefined) {
    io.stdout.write(bendsText(report, options.tabStyle, columnsOf(io.stdout)));
  }
  if (options.html !== undefined) await writePage(options.html, takes, report, options, io);
  return code;
}

function reportOn(takes: readonly OpenedTake[], options: BendsCommandOptions): BendsReport {
  const { bends, doubtful, leftOut } = collectBends(takes);
  const summaries = summariseBends(bends, options.tolerance);
  const held = takes.find(({ reference }) => reference !== null);
  const tune = held === undefined ? null : tuneOnHarp(held.reference!.notes, held.take);
  // A page always has the practice plan.
  const wanted = options.practice === true || options.html !== undefined;
  return {
    takes,
    summaries,
    doubtful,
    leftOut,
    plan: wanted ? practicePlan(summaries, options.tolerance, tune) : null,
    tolerance: options.tolerance,
    judgeBy: options.judgeBy,
  };
}

function nothingToJudge({ leftOut, doubtful }: BendsReport): ReedtraceError {
  const none = leftOutInWords(leftOut);
  const [first] = doubtful;
  return new ReedtraceError(
    'E_NOTHING_PLAYED',
    none.length > 0 ? `no bend can be judged, ${none[0]}` : 'no bends were played',
    none.length === 0
      ? 'give takes with bent notes'
      : first !== undefined
        ? 'name the tune with `--against` to show which bends were meant'
        : 'hold them longer and nearer to the microphone, and record again',
  );
}

/** A folder stands for the takes in it, or, if there are none, for its recordings (which are opened later). */
async function openFolders(named: readonly string[]): Promise<string[]> {
  const lists = named.map(async (path) => {
    const names = path === '-' ? [] : await readdir(path).catch(() => []);
    const takes = names.filter((name) => name.endsWith('.take.json') && !name.startsWith('.')).sort();
    return takes.length > 0 ? takes.map((name) => join(path, name)) : [path];
  });
  return (await Promise.all(lists)).flat();
}

async function openDated(
  operand: Operand,
  harp: Awaited<ReturnType<typeof readHarpOptions>>,
  options: BendsCommandOptions,
  io: Io,
): Promise<OpenedTake> {
  if ('error' in operand) throw operand.error;
  const { path } = operand;
  const quiet = { quiet: options.quiet ?? false };
  const take = await openTake(path, harp, io, quiet);
  const judged = options.judgeBy === 'equal' ? againstEqual(take, options.a4) : take;
  const day = await playedOn(path, take, options.date);
  const reference =
    options.against === undefined
      ? null
      : await openReference(options.against, take, harp, { ...options, fitRepeats: true }, io);
  return {
    path,
    name: oneLine(path === '-' ? 'standard input' : basename(path)),
    take: judged,
    date: day?.date ?? null,
    dateFrom: day?.from ?? null,
    reference,
    ...(reference === null ? {} : { asked: askedIn(judged, reference) }),
  };
}

/** What a tune asks for at each note of a take, in all attempts at it. */
function askedIn(take: Take, reference: Reference): ReadonlyMap<string, AskedBend> {
  const { attempts } = checkTake(take, reference, { tolerances: TOLERANCES });
  return new Map(
    attempts.all.flatMap(({ judgement }) =>
      judgement.notes.flatMap(({ note, referenceIndex, target, cents }): [string, AskedBend][] =>
        referenceIndex === null ? [] : [[note.id, { target, cents }]],
      ),
    ),
  );
}
