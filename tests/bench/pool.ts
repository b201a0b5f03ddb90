import { type ChildProcess, fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { Job, JobResult } from './worker.ts';

const WORKER = fileURLToPath(new URL('./worker.ts', import.meta.url));

/**
 * Runs jobs on several processes.
 * @param onDone called after each job with the number done
 * @returns results in the order of the jobs
 * @throws Error when a worker dies
 */
export async function runJobs(
  jobs: readonly Job[],
  workers: number,
  onDone: (count: number) => void = () => {},
): Promise<JobResult[]> {
  const results = new Array<JobResult>(jobs.length);
  let next = 0;
  let done = 0;
  await Promise.all(
    Array.from({ length: Math.min(workers, jobs.length) }, async () => {
      const child = fork(WORKER, { execArgv: ['--import', 'tsx'] });
      try {
        while (next < jobs.length) {
          const index = next++;
          results[index] = await ask(child, jobs[index]);
          onDone(++done);
        }
      } finally {
        child.kill();
      }
    }),
  );
  return results;
}

function ask(child: ChildProcess, job: Job): Promise<JobResult> {
  return new Promise((resolve, reject) => {
    const died = (code: number | null): void => reject(new Error(`worker ended with ${code} on ${job.path}`));
    child.once('exit', died);
    child.once('message', (result) => {
      child.off('exit', died);
      resolve(result as JobResult);
    });
    child.send(job);
  });
}
