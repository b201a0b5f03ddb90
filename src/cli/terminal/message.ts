import { type ExitCode, ReedtraceError } from '../../errors.ts';

/** Text with its control characters and line breaks shown as `\xNN`, so that a file name can't break a line. */
export function oneLine(text: string): string {
  return text.replace(
    // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is replaced
    /[\u0000-\u001f\u007f-\u009f\u2028\u2029]/g,
    (character) => `\\x${character.charCodeAt(0).toString(16).padStart(2, '0')}`,
  );
}

/** The one line that an expected failure prints: what happened, then what to do. */
export function errorLine(error: ReedtraceError): string {
  return `error: ${oneLine(error.message)}; ${oneLine(error.fix)}\n`;
}

/** True for what an AbortSignal throws, wrapped or not. */
export function isInterruption(error: unknown): boolean {
  if (error instanceof ReedtraceError) return error.code === 'E_INTERRUPTED';
  return error instanceof Error && error.name === 'AbortError';
}

/** The higher of two exit codes: with many files, the worst outcome counts. */
export function worse(a: ExitCode, b: ExitCode): ExitCode {
  return a > b ? a : b;
}
