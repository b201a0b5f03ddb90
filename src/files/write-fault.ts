import { ReedtraceError } from '../errors.ts';

/** Reasons why a file can't be written, in plain words; the system's code is shown beside them. */
const WRITE_FAULTS: Readonly<Record<string, readonly [what: string, fix: string]>> = {
  ENOENT: ['its folder does not exist', 'create the folder first, or choose another'],
  ENOTDIR: ['its folder is a file', 'choose another place'],
  EACCES: ['you may not write there', 'choose a folder of your own'],
  EPERM: ['the system does not allow it', 'close programs that have it open, or choose another place'],
  EROFS: ['the disk is read-only', 'choose another place'],
  EBUSY: ['another program has it open', 'close that program and try again'],
  ENOSPC: ['the disk is full', 'free some space, or choose another disk'],
  EDQUOT: ['your share of the disk is full', 'free some space, or choose another disk'],
  EFBIG: ["the disk can't hold a file of that size", 'choose another disk'],
  EIO: ['the disk is failing', 'choose another disk, and back up this one'],
  ENAMETOOLONG: ['the name is too long', 'choose a shorter name'],
};

/** The system's error code, such as `ENOSPC`; otherwise the error as text. */
export function codeOf(error: unknown): string {
  return (error as NodeJS.ErrnoException).code ?? String(error);
}

/** E_CANNOT_WRITE: a file could not be written. */
export function writeFault(path: string, cause: unknown): ReedtraceError {
  if (cause instanceof ReedtraceError) return cause;
  const code = codeOf(cause);
  const [what, fix] = WRITE_FAULTS[code] ?? ['the system refused', 'choose another place'];
  return new ReedtraceError('E_CANNOT_WRITE', `'${path}' could not be written: ${what} (${code})`, fix, {
    cause,
  });
}

/** E_EXISTS: a file exists and was not to be replaced. */
export function existsFault(path: string, fix: string): ReedtraceError {
  return new ReedtraceError('E_EXISTS', `'${path}' already exists`, fix);
}
