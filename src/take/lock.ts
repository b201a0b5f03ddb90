import {
  closeSync,
  openSync,
  readFileSync,
  realpathSync,
  statSync,
  unlinkSync,
  utimesSync,
  writeSync,
} from 'node:fs';
import { hostname, uptime } from 'node:os';
import { ReedtraceError } from '../errors.ts';
import { isRunning } from '../files/temporary.ts';

/** Who holds a take. */
interface Holder {
  readonly pid: number;
  readonly host: string;
}

/** A take that this program alone may change. */
export interface TakeLock {
  readonly path: string;
  /** Says that the program is still there; call it now and then. */
  refresh(): void;
  release(): void;
}

/** A lock of another computer that was not refreshed for this long is left over. */
const FOREIGN_STALE_MS = 60_000;
/** Slack between the file system's clock and the time since the computer was started. */
const BOOT_SLACK_MS = 5_000;

/**
 * Takes the lock of a take: a file `<take>.lock` beside it, which names the process. A lock left by a program that was
 * killed, or before the computer was started, is taken over.
 * @throws ReedtraceError E_TAKE_IN_USE when another program has it; E_CANNOT_WRITE when no file can be made there
 */
export function lockTake(takePath: string): TakeLock {
  const path = `${realpathSync(takePath)}.lock`;
  const mine = JSON.stringify({ pid: process.pid, host: hostname() } satisfies Holder);
  for (let attempt = 0; ; attempt++) {
    try {
      writeLock(path, mine);
      break;
    } catch (cause) {
      const code = (cause as NodeJS.ErrnoException).code;
      if (code !== 'EEXIST' || attempt > 3) throw cannotLock(path, code ?? String(cause), cause);
      const holder = holderOf(path);
      if (holder !== 'gone') throw inUse(takePath, holder);
      try {
        unlinkSync(path);
      } catch {
        // Another program took it over in the same moment: the next attempt tells.
      }
    }
  }
  return {
    path,
    refresh() {
      try {
        const now = new Date();
        utimesSync(path, now, now);
      } catch {
        // A lock that can't be refreshed only looks older than it is.
      }
    },
    release() {
      try {
        if (readFileSync(path, 'utf8') === mine) unlinkSync(path);
      } catch {
        // Gone already, or the disk is: nothing is left to release.
      }
    },
  };
}

function writeLock(path: string, text: string): void {
  const fd = openSync(path, 'wx');
  try {
    // Short enough to be taken whole or not at all.
    writeSync(fd, text);
  } catch (error) {
    unlinkSync(path);
    throw error;
  } finally {
    closeSync(fd);
  }
}

/** The living holder of a lock, or `gone` when the lock is a leftover. */
function holderOf(path: string): Holder | 'gone' {
  let holder: Partial<Holder>;
  let touchedMs: number;
  try {
    holder = JSON.parse(readFileSync(path, 'utf8')) as Partial<Holder>;
    touchedMs = statSync(path).mtimeMs;
  } catch {
    return 'gone';
  }
  const { pid, host } = holder ?? {};
  if (typeof pid !== 'number' || typeof host !== 'string') return 'gone';
  const here = host === hostname();
  if (!here) return Date.now() - touchedMs > FOREIGN_STALE_MS ? 'gone' : { pid, host };
  const startedMs = Date.now() - uptime() * 1000;
  if (touchedMs < startedMs - BOOT_SLACK_MS || !isRunning(pid)) return 'gone';
  return { pid, host };
}

function inUse(takePath: string, { pid, host }: Holder): ReedtraceError {
  const where = host === hostname() ? `process ${pid}` : `process ${pid} on ${host}`;
  return new ReedtraceError(
    'E_TAKE_IN_USE',
    `'${takePath}' is open for correcting in another program (${where})`,
    'close it there first',
  );
}

function cannotLock(path: string, code: string, cause: unknown): ReedtraceError {
  return new ReedtraceError(
    'E_CANNOT_WRITE',
    `'${path}' could not be written (${code}): changes need a place beside the take`,
    'copy the take and its recording to a folder of your own',
    { cause },
  );
}
