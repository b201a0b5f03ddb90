import { mkdir, rmdir } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { ReedtraceError } from '../../errors.ts';

/**
 * Makes a folder for results, and those above it.
 * @returns the uppermost folder that had to be made; undefined when all were there
 * @throws ReedtraceError E_CANNOT_WRITE
 */
export async function makeFolder(folder: string): Promise<string | undefined> {
  return mkdir(folder, { recursive: true }).catch((cause: NodeJS.ErrnoException) => {
    throw new ReedtraceError(
      'E_CANNOT_WRITE',
      `the folder '${folder}' could not be made (${cause.code})`,
      'choose another with `--out`',
      { cause },
    );
  });
}

/**
 * Does what writes to a folder, which is made first; when that fails, the folders that were made go, where nothing is in them.
 * @throws ReedtraceError E_CANNOT_WRITE; what `work` throws
 */
export async function inFolder<T>(folder: string, work: () => Promise<T>): Promise<T> {
  const first = await makeFolder(folder);
  try {
    return await work();
  } catch (error) {
    if (first !== undefined) await removeEmpty(resolve(folder), resolve(first));
    throw error;
  }
}

/** @param first  the uppermost folder that may go */
async function removeEmpty(folder: string, first: string): Promise<void> {
  const gone = await rmdir(folder).then(
    () => true,
    () => false,
  );
  if (gone && folder !== first) await removeEmpty(dirname(folder), first);
}
