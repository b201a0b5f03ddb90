import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';

/** Whether a process with this number is running on this computer. */
export function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    // It exists, but we may not signal it.
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/**
 * When a process was started, as the system writes it. Process numbers are reused, but number and start time together are
 * unique. Null if the system does not say.
 */
export function startOf(pid: number): string | null {
  try {
    if (process.platform === 'linux') {
      // proc_pid_stat(5): the name may contain spaces and brackets; `starttime` is the 20th field after it.
      const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
      return stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19] ?? null;
    }
    if (process.platform === 'win32') return null;
    // POSIX ps; both BSD and macOS have `lstart`.
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
