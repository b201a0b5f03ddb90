import { basename, join } from 'node:path';
import { ReedtraceError } from '../../errors.ts';
import { KeptFiles } from '../../files/kept-files.ts';
import { writeWhole } from '../../files/write-whole.ts';
import type { Take } from '../../take/schema.ts';
import { besideTake } from './take-recording.ts';

/** A file that was read, and what it is, in words. */
export type Kept = readonly [path: string, what: string];

/** Takes and their recordings, which no command may overwrite. */
export function takesAndRecordings(takes: readonly { readonly path: string; readonly take: Take }[]): Kept[] {
  return takes.flatMap(({ path, take }): Kept[] => [
    [path, 'one of the takes'],
    [besideTake(path, take), 'one of the recordings'],
  ]);
}

/** @throws ReedtraceError E_EXISTS if a file to be written is one that was read, under any name */
export async function checkNotKept(files: readonly string[], kept: KeptFiles, fix: string): Promise<void> {
  for (const file of files) {
    const what = await kept.find(file);
    if (what !== null) throw new ReedtraceError('E_EXISTS', `'${file}' is ${what}`, fix);
  }
}

/**
 * Writes results to a folder, replacing earlier ones: all or none, and never over a file that was read.
 * @throws ReedtraceError E_EXISTS, E_CANNOT_WRITE
 */
export async function writeResults(
  folder: string,
  results: readonly { readonly name: string; readonly content: string }[],
  read: readonly Kept[],
): Promise<void> {
  const fix = 'name another folder with `--out`';
  const files = results.map(({ name, content }) => ({
    path: join(folder, basename(name)),
    content,
    replace: true,
    existsFix: fix,
  }));
  await checkNotKept(
    files.map(({ path }) => path),
    new KeptFiles(read),
    fix,
  );
  await writeWhole(files);
}
