import { ReedtraceError } from '../../errors.ts';

/** The error for a music file that can't be read. @param what  what is wrong; it follows the file's name */
export function musicError(name: string, what: string, fix: string, cause?: unknown): ReedtraceError {
  return new ReedtraceError(
    'E_MUSIC_INVALID',
    `'${name}' ${what}`,
    fix,
    cause === undefined ? undefined : { cause },
  );
}
