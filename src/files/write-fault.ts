import { ReedtraceError } from '../errors.ts';

/** What stands in the way of writing a file, in words; the code of the system stays beside it. */
const WRITE_FAULTS: Readonly<Record<string, readonly [what: string, fix: string]>> = {
  ENOENT: ['its folder does not exist', 'make the folder first, or choose another'],
  ENOTDIR: ['its folder is a file', 'choose another place'],
  EACCES: ['writing there is not allowed', 'choose a place of your own'],
  EPERM: ['writing there is not allowed', 'close programs that hold it, or choose another place'],
  EROFS: ['the disk is read-only', 'choose another place'],
  EBUSY: ['another program holds it', 'close that program and try again'],
  ENOSPC: ['the disk is full', 'free some space, or choose another disk'],
  EDQUOT: ['your share of the disk is full', 'free some space, or choose another disk'],
  EFBIG: ['the disk takes no file of that size', 'choose another disk'],
  EIO: ['the disk has a fault', 'choose another disk for it, and save what is on this one'],
  ENAMETOOLONG: ['the name is too long', 'choose a shorter name'],
};

/** Code of the system, such as `ENOSPC`, or what was thrown in words. */
export function codeOf(error: unknown): string {
  return (error as NodeJS.ErrnoException).code ?? String(error);
}

/** What a user is told when a file could not be written: E_CANNOT_WRITE. */
export function writeFault(path: string, cause: unknown): ReedtraceError {
  if (cause instanceof ReedtraceError) return cause;
  const code = codeOf(cause);
  const [what, fix] = WRITE_FAULTS[code] ?? ['the system refused', 'choose another place'];
  return new ReedtraceError('E_CANNOT_WRITE', `'${path}' could not be written: ${what} (${code})`, fix, {
    cause,
  });
}

/** What a user is told when a file is there that was not to be replaced: E_EXISTS. */
export function existsFault(path: string, fix: string): ReedtraceError {
  return new ReedtraceError('E_EXISTS', `'${path}' exists already`, fix);
}
