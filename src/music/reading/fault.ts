import { ReedtraceError } from '../../errors.ts';

/** The error of a music file that can't be read. @param what  what is wrong, after the file's name */
export function musicError(name: string, what: string, fix: string, cause?: unknown): ReedtraceError {
  return new ReedtraceError(
    'E_MUSIC_INVALID',
    `'${name}' ${what}`,
    fix,
    cause === undefined ? undefined : { cause },
  );
}

/** Text of a file: UTF-8, or UTF-16 with its mark, or else Windows-1252, which any bytes are. */
export function decodeText(bytes: Uint8Array): string {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return new TextDecoder('utf-16le').decode(bytes);
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return new TextDecoder('utf-16be').decode(bytes);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}
