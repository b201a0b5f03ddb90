import { lstat, stat } from 'node:fs/promises';
import { dirname } from 'node:path';
import { ReedtraceError } from '../errors.ts';
import { codeOf, existsFault, writeFault } from './write-fault.ts';
import type { WriteOptions } from './write-whole.ts';

/**
 * Makes sure that a file can be written, before long work is done for it.
 * @throws ReedtraceError E_EXISTS; E_CANNOT_WRITE if no file can be written there
 */
export async function checkTarget(path: string, { replace, existsFix }: WriteOptions): Promise<void> {
  try {
    const there = await lstat(path);
    if (!replace) throw existsFault(path, existsFix);
    const target = there.isSymbolicLink() ? await stat(path) : there;
    if (!target.isFile()) {
      const kind = target.isDirectory() ? 'is a folder' : 'is a device';
      throw new ReedtraceError('E_CANNOT_WRITE', `'${path}' ${kind}`, 'give the name of a file with `--out`');
    }
  } catch (error) {
    if (error instanceof ReedtraceError) throw error;
    if (codeOf(error) !== 'ENOENT') throw writeFault(path, error);
    await checkFolder(path);
  }
}

async function checkFolder(path: string): Promise<void> {
  const folder = await stat(dirname(path)).catch((error: unknown) => {
    throw writeFault(path, error);
  });
  if (!folder.isDirectory()) throw writeFault(path, { code: 'ENOTDIR' });
}
