import { open, readFile, stat } from 'node:fs/promises';
import { ReedtraceError } from '../errors.ts';
import { codeOf } from './write-fault.ts';

/** What the user can do, given after what is wrong. */
interface Fixes {
  /** If there is no such file; by default, to check the name. */
  readonly missing?: string;
  /** If it can't be read as a file. */
  readonly other: string;
}

/**
 * Reads a file named by the user. It is examined before it is opened, because opening a pipe without a writer would block.
 * @throws ReedtraceError E_NOT_FOUND; E_NOT_A_FILE for folders, devices and pipes
 */
export async function readInput(path: string, fixes: Fixes): Promise<Buffer> {
  try {
    await checkIsFile(path, fixes);
    return await readFile(path);
  } catch (error) {
    throw readFault(path, fixes, error);
  }
}

/** The error for a file that could not be read. */
function readFault(
  path: string,
  { missing = 'check the name and the folder', other }: Fixes,
  cause: unknown,
) {
  if (cause instanceof ReedtraceError) return cause;
  const code = codeOf(cause);
  if (code === 'ENOENT' || code === 'ENOTDIR') return missingFault(path, missing, cause);
  return new ReedtraceError('E_NOT_A_FILE', `'${path}' can't be read (${code})`, other, { cause });
}

/** Bytes of a name that are not UTF-8 arrive from the shell as this character. */
const NOT_UTF8 = '\uFFFD';

/** E_NOT_FOUND, which also explains names that can't be passed to this program. */
export function missingFault(path: string, fix: string, cause: unknown): ReedtraceError {
  const isOdd = path.includes(NOT_UTF8);
  return new ReedtraceError(
    'E_NOT_FOUND',
    isOdd ? `'${path}' does not exist, or its name is not in UTF-8` : `'${path}' does not exist`,
    isOdd ? 'rename it: its name is in an old encoding' : fix,
    { cause },
  );
}

async function checkIsFile(path: string, fixes: Fixes): Promise<void> {
  const info = await stat(path);
  if (info.isFile()) return;
  if (info.isDirectory()) throw new ReedtraceError('E_NOT_A_FILE', `'${path}' is a folder`, fixes.other);
  throw new ReedtraceError(
    'E_NOT_A_FILE',
    `'${path}' is a device or a pipe, not a file`,
    'name a file; where a command takes `-`, it reads standard input',
  );
}

/** The first bytes of a file, to recognise its type; null if it is not a file or can't be read. */
export async function readStart(path: string, bytes: number): Promise<Uint8Array | null> {
  try {
    if (!(await stat(path)).isFile()) return null;
    const file = await open(path, 'r');
    try {
      const { buffer, bytesRead } = await file.read(new Uint8Array(bytes), 0, bytes, 0);
      return buffer.subarray(0, bytesRead);
    } finally {
      await file.close();
    }
  } catch {
    return null;
  }
}
