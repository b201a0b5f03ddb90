import { readdir } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { againstEqual } from '../../check/align/equal.ts';
import type { Reference } from '../../check/align/reference.ts';
import { type CheckedTake, type CheckOptions, checkTake } from '../../check/check-take.ts';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import { readTake, writeTake } from '../../take/files/store.ts';
import type { Take } from '../../take/schema.ts';
import { buildTake } from '../../take/take.ts';
import { type Kept, takesAndRecordings } from '../files/kept-inputs.ts';
import { makeFolder } from '../files/make-folder.ts';
import { findRecordings, type Operand } from '../files/recordings.ts';
import { takeName } from '../files/take-path.ts';
import { openReference } from '../hear/open-reference.ts';
import { onNamedHarp, openTake } from '../hear/open-take.ts';
import { HearPool } from '../hear/pool.ts';
import { takeOfSame } from '../hear/unchanged.ts';
import type { NamedHarp } from '../options/harp.ts';
import { reportFault } from '../terminal/fault-report.ts';
import type { Io } from '../terminal/io.ts';
import { errorLine, isInterruption, worse } from '../terminal/message.ts';
import { createProgress } from '../terminal/progress.ts';
import type { CheckCommandOptions } from './options.ts';

const TAKE_END = '.take.json';
/** More threads than this gain nothing and take memory. */
const MOST_THREADS = 32;

/** One file with its result, or why there is none. `id` is its name without the extension. */
export type JudgedFile =
  | { readonly id: string; readonly path: string; readonly take: Take; readonly checked: CheckedTake }
  | { readonly id: string; readonly path: string; readonly error: string };

/** Everything that was read, which no result may overwrite. */
export function readFor(files: readonly JudgedFile[], against: string): Kept[] {
  return [
    [against, 'what the takes are compared with'],
    ...files.map(({ path }): Kept => [path, 'one of the takes']),
    ...files.map(({ path }): Kept => [join(dirname(path), takeName(path)), 'one of the takes']),
    ...takesAndRecordings(files.filter((file) => 'take' in file)),
  ];
}

/** Files that were compared with one reference. */
export interface JudgedFiles {
  readonly files: readonly JudgedFile[];
  /** Null when not one of them could be opened. */
  readonly reference: Reference | null;
  /** The highest exit code among them. */
  readonly code: ExitCode;
}

/**
 * Compares recordings and takes with one reference, on all cores. What can't be judged is reported and doesn't stop the
 * rest. With `--out`, takes are kept there, so that a second run continues where the first stopped.
 * @param what  a word for the progress line
 */
export async function judgeFiles(
  operands: readonly Operand[],
  what: string,
  options: CheckCommandOptions,
  harp: NamedHarp,
  checking: CheckOptions,
  io: Io,
): Promise<JudgedFiles> {
  if (options.out !== undefined) await makeFolder(options.out);
  const threads = Math.min(availableParallelism(), MOST_THREADS, operands.length);
  const pool = new HearPool(Math.max(1, threads), harp, io.signal);
  const progress = createProgress(io, { quiet: options.quiet ?? false, stages: ['takes'] });
  let code: ExitCode = EXIT.done;
  let done = 0;
  // Opened with the first take: a tab file is read for that take's harp unless one is named, and repeats as it plays them.
  let reference: Promise<Reference> | null = null;
  const judgeOne = async (operand: Operand): Promise<JudgedFile> => {
    const { path } = operand;
    const id = idOf(path);
    try {
      if ('error' in operand) throw operand.error;
      const take = await takeOf(path, id, harp, pool, options, io, (error) => {
        // The take is judged anyway; a second run has to transcribe it again.
        if (code !== error.exitCode) {
          progress.clear();
          io.stderr.write(errorLine(error));
        }
        code = worse(code, error.exitCode);
      });
      reference ??= openReference(options.against, take, harp, { ...options, fitRepeats: true }, io);
      const judged = options.judgeBy === 'equal' ? againstEqual(take, options.a4) : take;
      return {
        id,
        path,
        take: judged,
        checked: checkTake(judged, await onHarpOf(take, await reference, options, harp, io), checking),
      };
    } catch (error) {
      if (isInterruption(error)) throw error;
      if (!(error instanceof ReedtraceError)) {
        code = worse(code, await reportFault(io, error, [path], options.debug ?? false));
        return { id, path, error: 'internal error; see the report' };
      }
      // A reference that can't be read is an error for all, not for one pupil.
      if (
        reference !== null &&
        (await reference.then(
          () => false,
          () => true,
        ))
      )
        throw error;
      progress.clear();
      io.stderr.write(errorLine(error));
      code = worse(code, error.exitCode);
      return { id, path, error: error.message };
    } finally {
      done++;
      progress.report('takes', done / operands.length);
    }
  };
  progress.begin(what);
  let files: JudgedFile[];
  try {
    files = await inOrder(operands, 2 * threads + 1, judgeOne);
  } finally {
    await pool.close();
    progress.clear();
  }
  return { files, reference: reference === null ? null : await (reference as Promise<Reference>), code };
}

const idOf = (path: string): string => {
  const name = basename(path);
  return name.endsWith(TAKE_END)
    ? name.slice(0, -TAKE_END.length).replace(/\.[a-z0-9]{2,5}$/i, '')
    : name.replace(/\.[^.]+$/, '');
};

/** Recordings in a folder, and takes there whose recording is not. */
export async function filesIn(folder: string): Promise<Operand[]> {
  const names = (await readdir(folder)).filter((name) => name.endsWith(TAKE_END) && !name.startsWith('.'));
  const { operands } = await findRecordings([folder]).catch((error: unknown) => {
    if (error instanceof ReedtraceError && names.length > 0) return { operands: [] };
    throw error;
  });
  const recordings = operands.filter((operand) => !('error' in operand && names.length > 0));
  const heard = new Set(recordings.map(({ path }) => idOf(path)));
  const takes = names
    .map((name) => ({ path: join(folder, name) }))
    .filter(({ path }) => !heard.has(idOf(path)));
  const byId = new Intl.Collator('en', { numeric: true });
  return [...recordings, ...takes].sort((a, b) => byId.compare(idOf(a.path), idOf(b.path)));
}

/** A take from its file, from an earlier run, or transcribed now (and kept if there is a folder for it). */
async function takeOf(
  path: string,
  id: string,
  harp: NamedHarp,
  pool: HearPool,
  options: CheckCommandOptions,
  io: Io,
  notKept: (error: ReedtraceError) => void,
): Promise<Take> {
  if (path.endsWith(TAKE_END)) return openTake(path, harp, io, { quiet: true });
  const kept =
    options.out === undefined
      ? `${path.replace(/\.[^.]+$/, '')}${TAKE_END}`
      : join(options.out, `${id}${TAKE_END}`);
  const same = await takeOfSame(path, kept, harp);
  if (same !== null) return onNamedHarp(same, harp.custom);
  const heard = await pool.hear(path, () => {});
  const take = buildTake(heard.source, heard.findings);
  if (options.out === undefined) return take;
  try {
    await writeTake(kept, take, { force: true });
    return await readTake(kept);
  } catch (error) {
    if (!(error instanceof ReedtraceError) || error.code !== 'E_CANNOT_WRITE') throw error;
    notKept(error);
    return take;
  }
}

/** The reference for a pupil: a tab file that names no harp is read for the pupil's own. */
async function onHarpOf(
  take: Take,
  reference: Reference,
  options: CheckCommandOptions,
  harp: NamedHarp,
  io: Io,
): Promise<Reference> {
  if (
    harp.harp !== undefined ||
    reference.harp === null ||
    /\.(take\.json|wav|mp3|m4a|flac|ogg)$/i.test(options.against)
  )
    return reference;
  return openReference(options.against, take, harp, { ...options, quiet: true }, io);
}

/** Works on several items at once; results are in order. */
async function inOrder<T, R>(
  items: readonly T[],
  atOnce: number,
  work: (item: T) => Promise<R>,
): Promise<R[]> {
  const results = new Array<R>(items.length);
  let next = 0;
  const lane = async (): Promise<void> => {
    while (next < items.length) {
      const at = next++;
      results[at] = await work(items[at]);
    }
  };
  await Promise.all(Array.from({ length: Math.min(atOnce, items.length) }, lane));
  return results;
}
