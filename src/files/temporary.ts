import { createHash, randomBytes } from 'node:crypto';
import { unlinkSync } from 'node:fs';
import { readdir, stat, unlink } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { isRunning } from './process-identity.ts';

/** Identifies the computer that made a temporary file: its process numbers mean nothing elsewhere. */
const HOST = createHash('sha256').update(hostname()).digest('hex').slice(0, 8);
const NAME = /^\.reedtrace-([0-9a-f]{8})-(\d+)-[0-9a-f]{12}\.tmp$/;

/** After this long, a file of another computer, or one whose process number is in use again, counts as left over. */
const LEFT_AFTER_MS = 24 * 60 * 60 * 1000;

/** Temporary files of this process. */
const mine = new Set<string>();
const swept = new Set<string>();

/**
 * A new temporary name for a file that is being written, in its destination folder, because only from there can it be renamed
 * to its own name. Short, so that it fits wherever the final name fits; hidden, so that no folder shows it as a recording.
 */
export function temporaryIn(folder: string): string {
  if (mine.size === 0) process.once('exit', removeTemporaries);
  const path = join(folder, `.reedtrace-${HOST}-${process.pid}-${randomBytes(6).toString('hex')}.tmp`);
  mine.add(path);
  return path;
}

/** Removes one, unless it has been given its final name. */
export async function removeTemporary(path: string): Promise<void> {
  await unlink(path).catch(() => {});
  forgetTemporary(path);
}

/** Call when one was removed or renamed by other means. */
export function forgetTemporary(path: string): void {
  mine.delete(path);
  if (mine.size === 0) process.removeListener('exit', removeTemporaries);
}

/** Whether anything is being written right now. */
export const hasTemporaries = (): boolean => mine.size > 0;

/** Removes all of this process, synchronously, when it is about to end. */
export function removeTemporaries(): void {
  for (const path of mine) {
    try {
      unlinkSync(path);
    } catch {
      // Already gone, or the disk is.
    }
  }
  mine.clear();
}

/** Removes what killed programs have left in a folder; once per folder. Never fails. */
export async function sweepTemporaries(folder: string): Promise<void> {
  if (swept.has(folder)) return;
  swept.add(folder);
  const names = await readdir(folder).catch(() => []);
  for (const name of names) {
    const made = NAME.exec(name);
    if (made === null) continue;
    const path = join(folder, name);
    if (made[1] === HOST && !isRunning(Number(made[2]))) await unlink(path).catch(() => {});
    else if (!mine.has(path)) await removeOld(path);
  }
}

async function removeOld(path: string): Promise<void> {
  const made = await stat(path).catch(() => null);
  if (made !== null && Date.now() - made.mtimeMs > LEFT_AFTER_MS) await unlink(path).catch(() => {});
}
