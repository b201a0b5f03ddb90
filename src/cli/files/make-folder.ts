import { mkdir } from 'node:fs/promises';
import { ReedtraceError } from '../../errors.ts';

/** Makes a folder for results, and those above it. @throws ReedtraceError E_CANNOT_WRITE */
export async function makeFolder(folder: string): Promise<void> {
  await mkdir(folder, { recursive: true }).catch((cause: NodeJS.ErrnoException) => {
    throw new ReedtraceError(
      'E_CANNOT_WRITE',
      `the folder '${folder}' could not be made (${cause.code})`,
      'choose another with `--out`',
      { cause },
    );
  });
}
