import { readdir } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { basename, join } from 'node:path';
import { againstEqual } from '../../check/align/equal.ts';
import type { Reference } from '../../check/align/reference.ts';
import { type CheckOptions, checkTake } from '../../check/check-take.ts';
import { classOf, type Pupil } from '../../check/class.ts';
import { EXIT, type ExitCode, ReedtraceError } from '../../errors.ts';
import { writeWhole } from '../../files/write-whole.ts';
import { readTake, writeTake } from '../../take/files/store.ts';
import type { Take } from '../../take/schema.ts';
import { buildTake } from '../../take/take.ts';
import { makeFolder } from '../files/make-folder.ts';
import { findRecordings, type Operand } from '../files/recordings.ts';
import { openReference } from '../hear/open-reference.ts';
import { onNamedHarp, openTake } from '../hear/open-take.ts';
import { HearPool } from '../hear/pool.ts';
import { takeOfSame } from '../hear/unchanged.ts';
import type { NamedHarp } from '../options/harp.ts';
import { reportFault } from '../terminal/fault-report.ts';
import { columnsOf, type Io } from '../terminal/io.ts';
import { errorLine, isInterruption, worse } from '../terminal/message.ts';
import { createProgress } from '../terminal/progress.ts';
import { classPage, pupilPage } from './class-page.ts';
import { type ClassSource, classCsv, classJson, classText } from './class-print.ts';
import type { CheckCommandOptions } from './options.ts';

const TAKE_END = '.take.json';
/** More threads than this gain nothing and cost memory. */
const MOST_THREADS = 32;

/**
 * Judges a folder of recordings and takes against one reference, on all cores; file names are the pupils. What can't be
 * judged is told and stops nobody. With `--out` a page for each pupil and one of the class, CSV and JSON come there, and
 * what was heard is kept there, so that a second run goes on where the first stopped.
 * @returns the highest exit code among them
 */
export async function runClass(
  folder: string,
  options: CheckCommandOptions,
  harp: NamedHarp,
  checking: CheckOptions,
  io: Io,
): Promise<ExitCode> {
  const operands = await pupilsIn(folder);
  if (options.out !== undefined) await makeFolder(options.out);
  const threads = Math.min(availableParallelism(), MOST_THREADS, operands.length);
  const pool = new HearPool(Math.max(1, threads), harp, io.signal);
  const progress = createProgress(io, { quiet: options.quiet ?? false, stages: ['pupils'] });
  let code: ExitCode = EXIT.done;
  let done = 0;
  // Opened with the first take, whose harp a tab file lies on unless one is named.
  let reference: Promise<Reference> | null = null;
  const judgeOne = async (operand: Operand): Promise<Pupil> => {
    const id = idOf(operand.path);
    try {
      if ('error' in operand) throw operand.error;
      const take = await takeOf(operand.path, id, harp, pool, options, io);
      reference ??= openReference(options.against, take, harp, options, io);
      const judged = options.judgeBy === 'equal' ? againstEqual(take, options.a4) : take;
      return {
        id,
        checked: checkTake(judged, await onHarpOf(take, await reference, options, harp, io), checking),
      };
    } catch (error) {
      if (isInterruption(error)) throw error;
      if (!(error instanceof ReedtraceError)) {
        code = worse(code, await reportFault(io, error, [operand.path], options.debug ?? false));
        return { id, error: 'internal error; see the report' };
      }
      // A reference that can't be read is nobody's fault but the teacher's.
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
      return { id, error: error.message };
    } finally {
      done++;
      progress.report('pupils', done / operands.length);
    }
  };
  progress.begin(basename(folder));
  let pupils: Pupil[];
  try {
    pupils = await inOrder(operands, 2 * threads + 1, judgeOne);
  } finally {
    await pool.close();
    progress.clear();
  }
  const told = reference === null ? null : await (reference as Promise<Reference>);
  const source: ClassSource = {
    against: told?.name ?? basename(options.against),
    pupils,
    report: classOf(pupils, told),
  };
  if (options.out !== undefined) await writePages(options.out, source);
  if (options.json) io.stdout.write(classJson(source));
  else if (options.csv) io.stdout.write(classCsv(source));
  else io.stdout.write(classText(source, columnsOf(io.stdout)));
  const { pass } = options;
  const below =
    pass !== undefined &&
    pupils.some((pupil) => 'checked' in pupil && pupil.checked.attempt.score.score < pass);
  return code === EXIT.done && below ? EXIT.belowPassMark : code;
}

const idOf = (path: string): string => {
  const name = basename(path);
  return name.endsWith(TAKE_END)
    ? name.slice(0, -TAKE_END.length).replace(/\.[a-z0-9]{2,5}$/i, '')
    : name.replace(/\.[^.]+$/, '');
};

/** Recordings of a folder, and takes of it that no recording there stands for. */
async function pupilsIn(folder: string): Promise<Operand[]> {
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

/** A take from its file, from an earlier run, or heard now (and kept where there is a folder for it). */
async function takeOf(
  path: string,
  id: string,
  harp: NamedHarp,
  pool: HearPool,
  options: CheckCommandOptions,
  io: Io,
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
  if (options.out !== undefined) {
    await writeTake(kept, take, { force: true });
    return readTake(kept);
  }
  return take;
}

/** A tab file without a harp of its own lies on each pupil's harp anew. */
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

/** Works on several at once; results in order. */
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

async function writePages(folder: string, source: ClassSource): Promise<void> {
  const pageOf = (id: string): string => `${id}.html`;
  const files = [
    ...source.pupils.map((pupil) => ({ name: pageOf(pupil.id), content: pupilPage(pupil, source.against) })),
    { name: 'class.html', content: classPage(source, pageOf) },
    { name: 'class.csv', content: classCsv(source) },
    { name: 'class.json', content: classJson(source) },
  ];
  for (const { name, content } of files) {
    await writeWhole([
      { path: join(folder, name), content, replace: true, existsFix: 'name another folder with `--out`' },
    ]);
  }
}
