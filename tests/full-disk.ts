import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, statfsSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** A small disk (tmpfs) with a file that fills it. */
export interface SmallDisk {
  readonly folder: string;
  /** Leaves this many bytes free, rounded down to pages of 4 KiB. */
  leave(bytes: number): void;
  /** From now on nothing can be written. */
  makeReadOnly(): void;
  remove(): void;
}

const PAGE_BYTES = 4096;
const FILLER = '.filler';

/** Only the superuser of Linux may mount one. */
export function canMount(): boolean {
  if (process.platform !== 'linux' || process.getuid?.() !== 0) return false;
  try {
    mountSmallDisk(64 * 1024).remove();
    return true;
  } catch {
    return false;
  }
}

export function mountSmallDisk(bytes: number): SmallDisk {
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-small-disk-'));
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', `size=${bytes}`, 'tmpfs', folder], { stdio: 'ignore' });
  } catch (error) {
    rmSync(folder, { recursive: true });
    throw error;
  }
  const filler = join(folder, FILLER);
  return {
    folder,
    leave(free) {
      rmSync(filler, { force: true });
      const { bavail, bsize } = statfsSync(folder);
      const pages = Math.floor((bavail * bsize) / PAGE_BYTES) - Math.floor(free / PAGE_BYTES);
      if (pages > 0) writeFileSync(filler, Buffer.alloc(pages * PAGE_BYTES, 1));
    },
    makeReadOnly() {
      execFileSync('mount', ['-o', 'remount,ro', folder]);
    },
    remove() {
      execFileSync('umount', [folder]);
      rmSync(folder, { recursive: true });
    },
  };
}
