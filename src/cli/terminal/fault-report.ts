import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { EXIT, type ExitCode } from '../../errors.ts';
import { shortened } from '../../plain-text.ts';
import type { Io } from './io.ts';
import { LONGEST_MESSAGE, oneLine } from './message.ts';
import { packageVersion } from './version.ts';

function describe(error: unknown): string {
  if (!(error instanceof Error)) return `thrown: ${String(error)}`;
  const cause = error.cause === undefined ? '' : `\ncaused by: ${describe(error.cause)}`;
  return `${error.stack ?? error.message}${cause}`;
}

/** Folders in a text; only the last name of a path is kept. */
const FOLDERS = /(?:file:\/\/)?(?:[a-z]:)?[/\\](?:[^/\\\n'"`()]+[/\\])+/gi;
/** Where this program's code, or that of a library, begins in a path of a stack trace. */
const OWN_CODE = [/^.*?[/\\](node_modules[/\\].*)$/, /^.*[/\\]((?:dist|src|bin)[/\\].*)$/];
const placeInCode = (path: string): string =>
  OWN_CODE.map((pattern) => pattern.exec(path)?.[1]).find((own) => own !== undefined) ?? withoutFolders(path);

const withoutFolders = (text: string): string => text.replace(FOLDERS, '');

/**
 * An internal error in a form that can be shared: kind, message and places in the code. Quoted text in a message may
 * come from a song or a file and is left out, as are folders, which hold names of people.
 */
function privately(error: unknown): string {
  if (!(error instanceof Error)) return `thrown: ${typeof error}`;
  const message = withoutFolders(error.message.replaceAll(/(['"`]).*?\1/gs, '$1…$1')).slice(0, 200);
  const frames = (error.stack ?? '').split('\n').filter((line) => /^\s+at /.test(line));
  const places = frames.map((line) => line.replace(/(?:file:\/\/)?[^\s()]*[/\\][^\s()]*/, placeInCode));
  const cause = error.cause === undefined ? [] : [`caused by: ${privately(error.cause)}`];
  return [`${error.name}: ${message}`, ...places, ...cause].join('\n');
}

/** Options whose value is the player's own text. */
const WORDS = /^--(title|by|name)(=|$)/;

/** Arguments without folders and without words: `--title` is kept, its value is not. */
function argumentsPrivately(argv: readonly string[]): string[] {
  return argv.map((argument, i) => {
    const said = WORDS.exec(argument);
    if (said !== null) return said[2] === '=' ? `--${said[1]}=…` : argument;
    return i > 0 && WORDS.exec(argv[i - 1])?.[2] === '' ? '…' : withoutFolders(argument);
  });
}

/** Saves a report of an internal error. @returns its path, or null if it can't be written */
function saveReport(dir: string, argv: readonly string[], error: unknown): string | null {
  const now = new Date().toISOString();
  const path = join(dir, `reedtrace-fault-${now.replace(/[:.]/g, '-')}-${process.pid}.txt`);
  const text = [
    `reedtrace ${packageVersion()}, Node ${process.version}, ${process.platform} ${process.arch}`,
    now,
    `arguments: ${JSON.stringify(argumentsPrivately(argv))}`,
    '',
    privately(error),
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
 * Reports an internal error: one line, and a report in a file; the stack trace only when asked for.
 * @param argv  what was being worked on, for the report
 */
export function reportFault(io: Io, error: unknown, argv: readonly string[], debug: boolean): ExitCode {
  const path = saveReport(io.reportDir, argv, error);
  const what = shortened(oneLine(error instanceof Error ? error.message : String(error)), LONGEST_MESSAGE);
  const where = path === null ? `no report could be saved in ${io.reportDir}` : `the report is in ${path}`;
  io.stderr.write(`error: internal error (${what}); ${where}\n`);
  if (debug) io.stderr.write(`${describe(error)}\n`);
  return EXIT.internal;
}
