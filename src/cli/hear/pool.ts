import { Worker } from 'node:worker_threads';
import { ReedtraceError } from '../../errors.ts';
import { moduleBeside } from '../../threads/module-beside.ts';
import type { Heard, HearOptions } from './hear.ts';
import type { WorkerMessage } from './worker.ts';

type Report = (stage: string, fraction: number) => void;

interface Job {
  readonly path: string;
  readonly onProgress: Report;
  readonly done: (heard: Heard) => void;
  readonly failed: (error: unknown) => void;
}

const WORKER = moduleBeside(import.meta.url, 'worker');

/** Transcribes several recordings at once, each in a thread of its own; more wait their turn. */
export class HearPool {
  readonly #size: number;
  readonly #how: HearOptions;
  readonly #waiting: Job[] = [];
  readonly #idle: Worker[] = [];
  readonly #working = new Map<Worker, Job>();
  #closed = false;

  /** @param size  threads at most */
  constructor(size: number, how: HearOptions, signal: AbortSignal) {
    this.#size = size;
    this.#how = how;
    signal.addEventListener('abort', () => void this.close(), { once: true });
  }

  /** @throws ReedtraceError as `hear`; E_INTERRUPTED when the pool is closed before it is done */
  hear(path: string, onProgress: Report): Promise<Heard> {
    return new Promise((done, failed) => {
      this.#waiting.push({ path, onProgress, done, failed });
      this.#next();
    });
  }

  #next(): void {
    if (this.#closed) {
      for (const job of this.#waiting.splice(0)) job.failed(interrupted());
      return;
    }
    while (this.#waiting.length > 0) {
      const worker = this.#idle.pop() ?? (this.#working.size < this.#size ? this.#start() : undefined);
      if (worker === undefined) return;
      const job = this.#waiting.shift()!;
      this.#working.set(worker, job);
      worker.postMessage(job.path);
    }
  }

  #start(): Worker {
    const worker = new Worker(WORKER, { workerData: this.#how });
    worker.on('message', (message: WorkerMessage) => this.#take(worker, message));
    // A thread that dies, for example when memory runs out, takes only its own recording with it.
    worker.on('error', (error) => this.#lose(worker, error));
    worker.on('exit', () => this.#lose(worker, new Error('a thread ended before its recording was done')));
    return worker;
  }

  #take(worker: Worker, message: WorkerMessage): void {
    const job = this.#working.get(worker);
    if (job === undefined) return;
    if (message.kind === 'progress') {
      job.onProgress(message.stage, message.fraction);
      return;
    }
    this.#working.delete(worker);
    this.#idle.push(worker);
    if (message.kind === 'heard') job.done(message.heard);
    else if (message.kind === 'expected') {
      job.failed(new ReedtraceError(message.code, message.message, message.fix));
    } else job.failed(Object.assign(new Error(message.message), { stack: message.stack }));
    this.#next();
  }

  #lose(worker: Worker, error: unknown): void {
    const job = this.#working.get(worker);
    this.#working.delete(worker);
    const at = this.#idle.indexOf(worker);
    if (at >= 0) this.#idle.splice(at, 1);
    job?.failed(this.#closed ? interrupted() : error);
    this.#next();
  }

  /** Ends all threads; recordings in progress fail as interrupted. */
  async close(): Promise<void> {
    this.#closed = true;
    const all = [...this.#idle, ...this.#working.keys()];
    await Promise.all(all.map((worker) => worker.terminate()));
    this.#next();
  }
}

function interrupted(): ReedtraceError {
  return new ReedtraceError('E_INTERRUPTED', 'stopped', 'run the command again');
}
