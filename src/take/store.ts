import { lstat, readFile, stat } from 'node:fs/promises';
import { basename, dirname } from 'node:path';
import writeFileAtomic from 'write-file-atomic';
import { ReedtraceError } from '../errors.ts';
import { formatTake } from './format.ts';
import type { Take } from './schema.ts';

function codeOf(error: unknown): string {
  return (error as NodeJS.ErrnoException).code ?? String(error);
}

/**
 * Reads a take file.
 * @throws ReedtraceError E_NOT_FOUND, E_NOT_A_FILE, E_TAKE_INVALID, E_TAKE_NEWER
 */
export async function readTake(path: string): Promise<Take> {
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (cause) {
    throw readError(path, cause);
  }
  // Only now: checking needs zod, which takes longer to load than all else, and writing does not.
  const { parseTake } = await import('./schema.ts');
  return parseTake(text, basename(path));
}

function readError(path: string, cause: unknown): ReedtraceError {
  switch (codeOf(cause)) {
    case 'ENOENT':
    case 'ENOTDIR':
      return new ReedtraceError('E_NOT_FOUND', `'${path}' does not exist`, 'check the name and the folder', {
        cause,
      });
    case 'EISDIR':
      return new ReedtraceError('E_NOT_A_FILE', `'${path}' is a folder`, 'name the take file inside it', {
        cause,
      });
    case 'ERR_STRING_TOO_LONG':
    case 'ERR_FS_FILE_TOO_LARGE':
      return new ReedtraceError(
        'E_TAKE_INVALID',
        `'${path}' is too large for a take`,
        'give a .take.json file',
        { cause },
      );
    default:
      return new ReedtraceError(
        'E_NOT_A_FILE',
        `'${path}' can't be read (${codeOf(cause)})`,
        'check that you may read it',
        { cause },
      );
  }
}

/** What stands in the way of writing a file, in words; the code of the system stays beside it. */
const WRITE_FAULTS: Readonly<Record<string, readonly [what: string, fix: string]>> = {
  ENOENT: ['its folder does not exist', 'make the folder first, or choose another with `--out`'],
  ENOTDIR: ['its folder is a file', 'choose another place with `--out`'],
  EACCES: ['writing there is not allowed', 'choose a place of your own with `--out`'],
  EPERM: [
    'writing there is not allowed',
    'close programs that hold it, or choose another place with `--out`',
  ],
  EROFS: ['the disk is read-only', 'choose another place with `--out`'],
  EBUSY: ['another program holds it', 'close that program and try again'],
  ENOSPC: ['the disk is full', 'free some space, or choose another disk with `--out`'],
  EDQUOT: ['your share of the disk is full', 'free some space, or choose another disk with `--out`'],
  EFBIG: ['the disk takes no file of that size', 'choose another disk with `--out`'],
  ENAMETOOLONG: ['the name is too long', 'choose a shorter name with `--out`'],
};

function writeError(path: string, cause: unknown): ReedtraceError {
  const code = codeOf(cause);
  const [what, fix] = WRITE_FAULTS[code] ?? ['the system refused', 'choose another place with `--out`'];
  return new ReedtraceError('E_CANNOT_WRITE', `'${path}' could not be written: ${what} (${code})`, fix, {
    cause,
  });
}

/**
 * Makes sure that a file may be written, before long work is done for it.
 * @param force  allow an existing file to be replaced
 * @throws ReedtraceError E_EXISTS; E_CANNOT_WRITE when the place can't take a file
 */
export async function checkWritable(path: string, force: boolean): Promise<void> {
  try {
    const there = await lstat(path);
    if (!force) {
      throw new ReedtraceError(
        'E_EXISTS',
        `'${path}' exists already`,
        'add `--force` to replace it, `--out` to write elsewhere, or `--no-save` to write nothing',
      );
    }
    const target = there.isSymbolicLink() ? await stat(path) : there;
    if (!target.isFile()) {
      const kind = target.isDirectory() ? 'is a folder' : 'is a device';
      throw new ReedtraceError('E_CANNOT_WRITE', `'${path}' ${kind}`, 'give the name of a file with `--out`');
    }
  } catch (error) {
    if (error instanceof ReedtraceError) throw error;
    if (codeOf(error) !== 'ENOENT') throw writeError(path, error);
    await checkFolder(path);
  }
}

async function checkFolder(path: string): Promise<void> {
  const folder = await stat(dirname(path)).catch((error: unknown) => {
    throw writeError(path, error);
  });
  if (!folder.isDirectory()) throw writeError(path, { code: 'ENOTDIR' });
}

/**
 * Writes a take whole or not at all: into a file beside it first, which then takes its name.
 * @returns bytes written
 * @throws ReedtraceError E_EXISTS when the file exists and `force` is not set; E_CANNOT_WRITE
 */
export async function writeTake(path: string, take: Take, options: { force: boolean }): Promise<number> {
  await checkWritable(path, options.force);
  const text = formatTake(take);
  try {
    await writeFileAtomic(path, text);
  } catch (error) {
    throw writeError(path, error);
  }
  return Buffer.byteLength(text);
}
