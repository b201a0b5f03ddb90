import { createHash, randomBytes } from 'node:crypto';
import { unlinkSync } from 'node:fs';
import { readdir, stat, unlink } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { isRunning } from './process-identity.ts';

/** Which computer made a temporary file: a process number says nothing about the processes of another. */
const HOST = createHash('sha256').update(hostname()).digest('hex').slice(0, 8);
const NAME = /^\.reedtrace-([0-9a-f]{8})-(\d+)-[0-9a-f]{12}\.tmp$/;

/** One of another computer, or whose process number is in use again, is a leftover after this long. */
const LEFT_AFTER_MS = 24 * 60 * 60 * 1000;

/** Temporary files of this process. */
const mine = new Set<string>();
const swept = new Set<string>();

/**
 * A new name for a file that is being written, in the folder where it will take its own name: only there can it be
 * renamed. Short, so that it fits wherever the other fits; hidden, so that no folder shows it as a recording.
 */
export function temporaryIn(folder: string): string {
  if (mine.size === 0) process.once('exit', removeTemporaries);
  const path = join(folder, `.reedtrace-${HOST}-${process.pid}-${randomBytes(6).toString('hex')}.tmp`);
  mine.add(path);
  return path;
}

/** Removes one, unless it has taken its own name. */
export async function removeTemporary(path: string): Promise<void> {
  await unlink(path).catch(() => {});
  forgetTemporary(path);
}

/** To be called when one was removed otherwise. */
export function forgetTemporary(path: string): void {
  mine.delete(path);
  if (mine.size === 0) process.removeListener('exit', removeTemporaries);
}

/** Whether something is being written just now. */
export const hasTemporaries = (): boolean => mine.size > 0;

/** Removes all of this process at once, when it is about to end. */
export function removeTemporaries(): void {
  for (const path of mine) {
    try {
      unlinkSync(path);
    } catch {
      // Gone already, or the disk is.
    }
  }
  mine.clear();
}

/** Removes what programs that were killed have left in a folder; once for each folder. Never fails. */
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
