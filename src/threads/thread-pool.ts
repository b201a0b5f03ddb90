import { Worker } from 'node:worker_threads';
import type { Samples } from '../audio/samples.ts';
import { type Chunk, chunksOf, type ParallelStage, SEQUENTIAL, type WorkerPool } from '../parallel-stage.ts';
import { moduleBeside } from './module-beside.ts';
import { untaken, type WorkerMessage } from './task.ts';

const WORKER = moduleBeside(import.meta.url, 'worker');

/** Memory for short-lived objects: with Node's default of 48 MB each thread would hold 20 MB more. */
const YOUNG_MB = 12;

/**
 * Runs the parallel stages of one recording on this thread and others. Each takes the next free chunk, so a thread that
 * starts late or is held up by other programs keeps nobody waiting. If a thread dies, this one does its chunk.
 */
export class ThreadPool implements WorkerPool {
  readonly #threads = new Set<Worker>();
  readonly #signal: AbortSignal | undefined;
  readonly #stop = (): void => void this.close();
  #task: Task | null = null;
  #tasks = 0;

  /** @param helpers  number of threads besides this one */
  constructor(helpers: number, signal?: AbortSignal) {
    for (let i = 0; i < helpers; i++) this.#start();
    this.#signal = signal;
    signal?.addEventListener('abort', this.#stop, { once: true });
  }

  /** How many threads there are besides this one; fewer when some have died, none after `close`. */
  get helpers(): number {
    return this.#threads.size;
  }

  #start(): void {
    const worker = new Worker(WORKER, { resourceLimits: { maxYoungGenerationSizeMb: YOUNG_MB } });
    this.#threads.add(worker);
    worker.on('message', (message: WorkerMessage) => {
      if (message.task !== this.#tasks) return;
      if (message.kind === 'chunk') this.#task?.keep(message.place, message.result);
      else this.#task?.release(worker);
    });
    const lose = (): void => {
      this.#threads.delete(worker);
      this.#task?.release(worker);
    };
    worker.on('error', lose);
    worker.on('exit', lose);
  }

  async run<Given, Result>(
    stage: ParallelStage<Given, Result>,
    samples: Samples,
    given: Given,
    count: number,
    pause: (fraction: number) => Promise<void>,
  ): Promise<Result[]> {
    if (this.#threads.size === 0) return SEQUENTIAL.run(stage, samples, given, count, pause);
    const chunks = chunksOf(stage, count);
    const taken = new Int32Array(new SharedArrayBuffer(4));
    const task = new Task(chunks.length, this.#threads);
    this.#task = task;
    const told = { task: ++this.#tasks, stage: stage.name, samples: samples.handle(), given, count, taken };
    for (const worker of this.#threads) worker.postMessage(told);
    const doItems = stage.begin(samples, given);
    const doChunk = async ({ place, from, to }: Chunk): Promise<void> => {
      await pause(task.share);
      task.keep(place, doItems(from, to));
    };
    for (const chunk of untaken(chunks, taken)) await doChunk(chunk);
    await task.settled;
    for (const chunk of chunks) if (!task.isDone(chunk.place)) await doChunk(chunk);
    return task.results as Result[];
  }

  /** Ends all threads. */
  async close(): Promise<void> {
    this.#signal?.removeEventListener('abort', this.#stop);
    await Promise.all([...this.#threads].map((worker) => worker.terminate()));
  }
}

/** The results so far of a parallel stage. */
class Task {
  readonly results: unknown[];
  /** Resolves when all chunks are done, or when the threads that had the others have died. */
  readonly settled: Promise<void>;
  readonly #done: boolean[];
  /** Threads that may have a chunk under way. */
  readonly #busy: Set<Worker>;
  #left: number;
  #settle = (): void => {};

  constructor(chunks: number, threads: Iterable<Worker>) {
    this.results = new Array(chunks);
    this.#done = new Array(chunks).fill(false);
    this.#left = chunks;
    this.#busy = new Set(threads);
    this.settled = new Promise((resolve) => {
      this.#settle = resolve;
    });
  }

  /** Share of the chunks that are done, [0, 1]. */
  get share(): number {
    return 1 - this.#left / this.#done.length;
  }

  isDone(place: number): boolean {
    return this.#done[place];
  }

  keep(place: number, result: unknown): void {
    if (this.#done[place]) return;
    this.results[place] = result;
    this.#done[place] = true;
    this.#left--;
    if (this.#left === 0) this.#settle();
  }

  /** Called when a thread no longer has a chunk. */
  release(thread: Worker): void {
    this.#busy.delete(thread);
    if (this.#busy.size === 0) this.#settle();
  }
}
