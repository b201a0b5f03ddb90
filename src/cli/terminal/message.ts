import { type ExitCode, ReedtraceError } from '../../errors.ts';
import { shortened, visibleText } from '../../plain-text.ts';

/**
 * Text on one line: control characters, line breaks and marks of writing direction are shown as `\xNN` or `\uNNNN`, so
 * that a file name can neither break a line nor control a terminal.
 */
export const oneLine = visibleText;

/** Nobody reads an error longer than this; its two ends say most. */
export const LONGEST_MESSAGE = 500;

/** The line printed for an expected failure: what happened, then what to do. */
export function errorLine(error: ReedtraceError): string {
  const [what, fix] = [error.message, error.fix].map((text) => shortened(oneLine(text), LONGEST_MESSAGE));
  return `error: ${what}; ${fix}\n`;
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
