import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';

/** Whether a process of this computer with that number is there. */
export function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // Not ours to signal, but there.
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/**
 * When a process was started, in the words of the system: numbers of processes are used again, the two together are
 * not. Null where the system does not tell.
 */
export function startOf(pid: number): string | null {
  try {
    if (process.platform === 'linux') {
      // proc_pid_stat(5): the name may hold spaces and brackets; `starttime` is the 20th field behind it.
      const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
      return stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19] ?? null;
    }
    if (process.platform === 'win32') return null;
    // POSIX ps; `lstart` is in both BSD and macOS.
    const text = execFileSync('ps', ['-o', 'lstart=', '-p', String(pid)], {
      encoding: 'utf8',
      env: { ...process.env, LC_ALL: 'C' },
      stdio: ['ignore', 'pipe', 'ignore'],
    }).trim();
    return text === '' ? null : text;
  } catch {
    return null;
  }
}
