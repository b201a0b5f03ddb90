import { mkdir, rmdir } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { ReedtraceError } from '../../errors.ts';

/**
 * Makes a folder, and those above it.
 * @returns the topmost folder that had to be made; undefined if all existed
 * @throws ReedtraceError E_CANNOT_WRITE
 */
export async function makeFolder(folder: string): Promise<string | undefined> {
  return mkdir(folder, { recursive: true }).catch((cause: NodeJS.ErrnoException) => {
    throw new ReedtraceError(
      'E_CANNOT_WRITE',
      `the folder '${folder}' could not be created (${cause.code})`,
      'choose another with `--out`',
      { cause },
    );
  });
}

/**
 * Makes a folder and does work that writes to it; if that fails, removes the folders that were made and are empty.
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

/** @param first  the topmost folder that may be removed */
async function removeEmpty(folder: string, first: string): Promise<void> {
  const gone = await rmdir(folder).then(
    () => true,
    () => false,
  );
  if (gone && folder !== first) await removeEmpty(dirname(folder), first);
}
