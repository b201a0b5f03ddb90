import { basename, resolve } from 'node:path';
import { ReedtraceError } from '../../errors.ts';
import { readStart } from '../../files/read-input.ts';
import type { Take } from '../../take/schema.ts';
import { decodeText } from '../../text/decode-text.ts';

/** `lesson.take.json` is the take `lesson`. */
export function nameOf(path: string, take: Take): string {
  const file = path === '-' ? take.source.file : basename(path);
  const name = basename(file).replace(/(\.take)?\.json$|\.[^.]+$/i, '');
  return name === '' ? 'take' : name;
}

/** Makes a title of a name. */
export function titleOf(name: string): string {
  return name.replaceAll(/[-_]+/g, ' ').trim() || name;
}

/** Makes sure, before any work, that a file is neither read by this run nor written for another take. */
export function checkFree(
  file: string,
  path: string,
  input: string | null,
  written: ReadonlyMap<string, string>,
): void {
  if (input !== null) {
    throw new ReedtraceError(
      'E_EXISTS',
      `'${file}' is ${input}, which this command reads`,
      'write elsewhere with `--out`',
    );
  }
  const other = written.get(resolve(file));
  if (other !== undefined) {
    throw new ReedtraceError(
      'E_EXISTS',
      `'${path}' and '${other}' would both be written as '${file}'`,
      'export them one by one with `--out`, or rename one',
    );
  }
}

/** `tune.svg` and `2` give `tune-2.svg`. */
export function pageFile(file: string, page: number): string {
  return file.replace(/(\.[^.]+)$/, `-${page}$1`);
}

/** The error if a recording has the name of a file to be written. */
export function recordingFault(file: string): ReedtraceError {
  return new ReedtraceError(
    'E_EXISTS',
    `'${file}' is a recording, which exports never overwrite`,
    'write elsewhere with `--out`',
  );
}

/** How exported tab begins: a title, then the harp. */
const TAB_START = /^# .*\r?\n# .* harp, /;
const START_BYTES = 1000;

/**
 * Words are often next to their take as `NAME.txt`, where its tab would go: such a file is recognised and never
 * replaced.
 * @throws ReedtraceError E_EXISTS
 */
export async function checkNotWords(file: string): Promise<void> {
  if (!file.endsWith('.txt')) return;
  const start = await readStart(file, START_BYTES);
  if (start === null || start.length === 0 || TAB_START.test(decodeText(start))) return;
  throw new ReedtraceError(
    'E_EXISTS',
    `'${file}' was not written by an export and may hold your words, so it is not overwritten`,
    'rename that file, or write elsewhere with `--out`',
  );
}
