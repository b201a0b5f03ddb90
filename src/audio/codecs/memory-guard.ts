import { isMainThread, Worker, workerData } from 'node:worker_threads';

/** How often the size of the process is checked. */
const LOOK_EVERY_MS = 40;

/** What a guard needs: the bytes by which the process may grow, and its size when the work began. */
interface Guarded {
  readonly mostBytes: number;
  readonly parent: number;
  readonly begunBytes: Float64Array;
}

/**
 * Watches this process from a separate thread, since work caught in a loop can't watch itself. Ends the process when it
 * grows by more than this many bytes during one piece of work, or when the process that started it is gone.
 * @returns a function to call when a piece of work begins
 */
export function guardMemory(mostBytes: number): () => void {
  const begunBytes = new Float64Array(new SharedArrayBuffer(Float64Array.BYTES_PER_ELEMENT));
  const begin = (): void => {
    begunBytes[0] = process.memoryUsage.rss();
  };
  begin();
  const guarded: Guarded = { mostBytes, parent: process.ppid, begunBytes };
  new Worker(new URL(import.meta.url), { workerData: { guarded } }).unref();
  return begin;
}

if (!isMainThread && typeof workerData === 'object' && workerData !== null && 'guarded' in workerData) {
  const { mostBytes, parent, begunBytes } = workerData.guarded as Guarded;
  setInterval(() => {
    const grownBytes = process.memoryUsage.rss() - begunBytes[0];
    if (grownBytes > mostBytes || process.ppid !== parent) process.kill(process.pid, 'SIGKILL');
  }, LOOK_EVERY_MS);
}
