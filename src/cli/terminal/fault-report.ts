import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { EXIT, type ExitCode } from '../../errors.ts';
import { packageVersion } from '../version.ts';
import type { Io } from './io.ts';
import { oneLine } from './message.ts';

function describe(error: unknown): string {
  if (!(error instanceof Error)) return `thrown: ${String(error)}`;
  const cause = error.cause === undefined ? '' : `\ncaused by: ${describe(error.cause)}`;
  return `${error.stack ?? error.message}${cause}`;
}

/** Saves what is known of a fault; returns the path, or null when it can't be written. */
function saveReport(dir: string, argv: readonly string[], error: unknown): string | null {
  const now = new Date().toISOString();
  const path = join(dir, `reedtrace-fault-${now.replace(/[:.]/g, '-')}-${process.pid}.txt`);
  const text = [
    `reedtrace ${packageVersion()}, Node ${process.version}, ${process.platform} ${process.arch}`,
    now,
    `arguments: ${JSON.stringify(argv)}`,
    '',
    describe(error),
    '',
  ].join('\n');
  try {
    writeFileSync(path, text, { flag: 'wx', mode: 0o600 });
    return path;
  } catch {
    rmSync(path, { force: true });
    return null;
  }
}

/**
 * Tells of a fault of our own: one line, and a report in a file; the stack only when asked for.
 * @param argv  what was being worked on, for the report
 */
export function reportFault(io: Io, error: unknown, argv: readonly string[], debug: boolean): ExitCode {
  const path = saveReport(io.reportDir, argv, error);
  const what = oneLine(error instanceof Error ? error.message : String(error));
  const where = path === null ? `no report could be saved in ${io.reportDir}` : `the report is in ${path}`;
  io.stderr.write(`error: a fault of reedtrace itself (${what}); ${where}\n`);
  if (debug) io.stderr.write(`${describe(error)}\n`);
  return EXIT.internal;
}
