import { readdir, stat } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { againstEqual } from '../../check/align/equal.ts';
import { collectBends, type DatedTake, summariseBends, withoutCopies } from '../../check/progress/bends.ts';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import { findRecordings, type Operand } from '../files/recordings.ts';
import { openTake } from '../hear/open-take.ts';
import { readHarpOptions } from '../options/harp.ts';
import { reportFault } from '../terminal/fault-report.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { errorLine, isInterruption, oneLine, worse } from '../terminal/message.ts';
import { bendsCsv, bendsJson, bendsSvg } from './document.ts';
import type { BendsCommandOptions } from './options.ts';
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
  const opened: DatedTake[] = [];
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
  const { bends, leftOut } = collectBends(takes);
  const summaries = summariseBends(bends, options.tolerance);
  const report = { takes, summaries, leftOut, tolerance: options.tolerance, judgeBy: options.judgeBy };
  if (options.json) {
    io.stdout.write(bendsJson(report));
  } else if (bends.length === 0) {
    const none = leftOutInWords(leftOut);
    throw new ReedtraceError(
      'E_NOTHING_PLAYED',
      none.length > 0 ? `no bend can be judged, ${none[0]}` : 'no bends were played',
      none.length > 0
        ? 'record them held longer, nearer to the microphone'
        : 'give takes that hold bent notes',
    );
  } else if (options.csv) {
    io.stdout.write(bendsCsv(report));
  } else if (options.svg) {
    io.stdout.write(bendsSvg(report, options.tabStyle));
  } else {
    io.stdout.write(bendsText(report, options.tabStyle, columnsOf(io.stdout)));
  }
  return code;
}

/** A folder that holds takes stands for them, one without for its recordings (which are opened later). */
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
): Promise<DatedTake> {
  if ('error' in operand) throw operand.error;
  const { path } = operand;
  const take = await openTake(path, harp, io, { quiet: options.quiet ?? false });
  const judged = options.judgeBy === 'equal' ? againstEqual(take, options.a4) : take;
  const name = oneLine(path === '-' ? 'standard input' : basename(path));
  return { name, take: judged, date: await dateOf(path, take.source.file) };
}

const DATE = /(?<!\d)(20\d\d)[-_.]?(0[1-9]|1[0-2])[-_.]?(0[1-9]|[12]\d|3[01])(?!\d)/;

/** The date in the name of the take or of its recording, as phones and recorders write it, else that of the file. */
async function dateOf(path: string, recording: string): Promise<string | null> {
  const named = DATE.exec(basename(path)) ?? DATE.exec(recording);
  if (named) return `${named[1]}-${named[2]}-${named[3]}`;
  if (path === '-') return null;
  return stat(path).then(
    ({ mtime }) => mtime.toISOString().slice(0, 10),
    () => null,
  );
}
