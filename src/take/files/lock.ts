import {
  linkSync,
  readFileSync,
  realpathSync,
  renameSync,
  statSync,
  unlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { hostname, uptime } from 'node:os';
import { dirname } from 'node:path';
import { ReedtraceError } from '../../errors.ts';
import { isRunning, startOf } from '../../files/process-identity.ts';
import { forgetTemporary, temporaryIn } from '../../files/temporary.ts';

/** Who holds a take. */
interface Holder {
  readonly pid: number;
  readonly host: string;
  /** When the process was started; null where the system does not tell. */
  readonly start: string | null;
}

/** The lock of a take: only this program may change it. */
export interface TakeLock {
  readonly path: string;
  /** Shows that the program is still running; call it now and then. */
  refresh(): void;
  release(): void;
}

/** A lock from another computer that was not refreshed for this long is a leftover. */
const FOREIGN_STALE_MS = 60_000;
/** Tolerance between the file system's clock and the time since the computer was started. */
const BOOT_SLACK_MS = 5_000;

/**
 * Takes the lock of a take: a file `<take>.lock` beside it, which names the process. A lock left by a program that was
 * killed, or before the computer was started, is taken over.
 * @throws ReedtraceError E_TAKE_IN_USE when another program has it; E_CANNOT_WRITE when no file can be made there
 */
export function lockTake(takePath: string): TakeLock {
  const path = `${realpathSync(takePath)}.lock`;
  const { pid } = process;
  const mine = JSON.stringify({ pid, host: hostname(), start: startOf(pid) } satisfies Holder);
  for (let attempt = 0; ; attempt++) {
    try {
      writeLock(path, mine);
      break;
    } catch (cause) {
      const code = (cause as NodeJS.ErrnoException).code;
      if (code !== 'EEXIST' || attempt > 3) throw cannotLock(path, code ?? String(cause), cause);
      const seen = readLock(path);
      const holder = seen === null ? null : holderOf(seen);
      if (holder !== null) throw inUse(takePath, path, holder);
      if (seen !== null) removeLeftover(path, seen.text);
    }
  }
  return {
    path,
    refresh() {
      try {
        const now = new Date();
        utimesSync(path, now, now);
      } catch {
        // It then only looks older than it is.
      }
    },
    release() {
      try {
        if (readFileSync(path, 'utf8') === mine) unlinkSync(path);
      } catch {
        // The lock or the disk is gone: nothing is left to release.
      }
    },
  };
}

/** Creates a lock with its text in one step: an empty lock belongs to nobody. */
function writeLock(path: string, text: string): void {
  const temporary = temporaryIn(dirname(path));
  try {
    writeFileSync(temporary, text, { flag: 'wx' });
    try {
      linkSync(temporary, path);
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException;
      if (code === 'EEXIST') throw error;
      // No links on this disk (FAT).
      writeFileSync(path, text, { flag: 'wx' });
    }
  } finally {
    unlinkQuietly(temporary);
    forgetTemporary(temporary);
  }
}

function unlinkQuietly(path: string): void {
  try {
    unlinkSync(path);
  } catch {
    // It has already been removed.
  }
}

interface SeenLock {
  readonly text: string;
  readonly touchedMs: number;
}

function readLock(path: string): SeenLock | null {
  try {
    return { text: readFileSync(path, 'utf8'), touchedMs: statSync(path).mtimeMs };
  } catch {
    return null;
  }
}

/** Removes a leftover, unless another program has put its own lock there meanwhile. */
function removeLeftover(path: string, text: string): void {
  const aside = temporaryIn(dirname(path));
  try {
    renameSync(path, aside);
    if (readFileSync(aside, 'utf8') !== text) linkSync(aside, path);
  } catch {
    // Another program took it over at the same moment: the next attempt will show that.
  }
  unlinkQuietly(aside);
  forgetTemporary(aside);
}

/** The living holder of a lock; null when the lock is a leftover. */
function holderOf({ text, touchedMs }: SeenLock): Holder | null {
  let said: unknown;
  try {
    said = JSON.parse(text);
  } catch {
    return null;
  }
  const { pid, host, start } = (said ?? {}) as Record<keyof Holder, unknown>;
  if (typeof pid !== 'number' || typeof host !== 'string') return null;
  const holder = { pid, host, start: typeof start === 'string' ? start : null };
  if (host !== hostname()) return Date.now() - touchedMs > FOREIGN_STALE_MS ? null : holder;
  const startedMs = Date.now() - uptime() * 1000;
  if (touchedMs < startedMs - BOOT_SLACK_MS || !isRunning(pid)) return null;
  // Another program may have this process number by now.
  return holder.start === null || [null, holder.start].includes(startOf(pid)) ? holder : null;
}

function inUse(takePath: string, lockPath: string, { pid, host }: Holder): ReedtraceError {
  const where = host === hostname() ? `process ${pid}` : `process ${pid} on ${host}`;
  return new ReedtraceError(
    'E_TAKE_IN_USE',
    `'${takePath}' is open for correcting in another program (${where})`,
    `close it there first; if that program no longer runs, delete '${lockPath}'`,
  );
}

function cannotLock(path: string, code: string, cause: unknown): ReedtraceError {
  return new ReedtraceError(
    'E_CANNOT_WRITE',
    `'${path}' could not be written (${code}): changes are saved beside the take`,
    'copy the take and its recording to a folder of your own',
    { cause },
  );
}
