import { Worker } from 'node:worker_threads';
import { LIMITS } from '../../limits.ts';
import { throwIfStopped } from '../source.ts';
import type { DecodedSound } from './decoded-sound.ts';
import type { DecoderAnswer, DecoderRequest } from './decoder-worker.ts';

/** A thread is built code; from the sources it is found where they are compiled to. */
const WORKER = new URL(
  import.meta.url
    .replace(/\/src\/(.*)\/[^/]+\.ts$/, '/dist/$1/decoder-thread.js')
    .replace(/[^/]+$/, 'decoder-worker.js'),
);

/** Objects of JavaScript, such as the tables of an index; samples are not among them. */
const OLD_MB = 1024;
const YOUNG_MB = 16;
/** A step that takes longer than this is looked at again and again; by far most take less. */
const WATCH_AFTER_MS = 60;
const WATCH_EVERY_MS = 25;

interface Asked {
  readonly done: (sound: DecodedSound) => void;
  readonly failed: (error: unknown) => void;
}

/** A decoder took more time or memory than any recording needs. */
export class DecoderLimitError extends Error {}

/** A thread that decodes: answers come in the order of the questions. */
export class DecoderThread {
  readonly #worker: Worker;
  readonly #asked: Asked[] = [];
  #signal: AbortSignal | undefined;
  readonly #stop = (): void => this.#fail(null);
  #watch: NodeJS.Timeout | undefined;
  #begunAt = 0;
  #begunBytes = 0;
  #isAlive = true;

  readonly #mostSec: number;
  readonly #mostBytes: number;

  /**
   * @param module  what the thread runs
   * @param mostSec  that one step may take
   * @param mostBytes  by which the programme may grow in one step
   */
  constructor(
    module: URL = WORKER,
    mostSec: number = LIMITS.decodeSec.most,
    mostBytes: number = LIMITS.decodeBytes.most,
  ) {
    this.#mostSec = mostSec;
    this.#mostBytes = mostBytes;
    this.#worker = new Worker(module, {
      resourceLimits: { maxOldGenerationSizeMb: OLD_MB, maxYoungGenerationSizeMb: YOUNG_MB },
    });
    this.#worker.on('message', (answer: DecoderAnswer) => this.#take(answer));
    this.#worker.on('error', (error) => this.#fail(error));
    this.#worker.on('exit', () => this.#fail(new Error('the decoder ended')));
    this.#worker.unref();
  }

  get isAlive(): boolean {
    return this.#isAlive;
  }

  /** A stream begins: from now on the thread keeps the programme alive. */
  begin(signal: AbortSignal | undefined): void {
    this.#worker.ref();
    this.#signal = signal;
    signal?.addEventListener('abort', this.#stop, { once: true });
  }

  finish(): void {
    this.#signal?.removeEventListener('abort', this.#stop);
    this.#signal = undefined;
    this.#worker.unref();
  }

  /**
   * @throws Error with what the decoder says is wrong, or that it took too long or too much memory; ReedtraceError
   *   E_INTERRUPTED
   */
  ask(request: DecoderRequest, transfer: ArrayBuffer[] = []): Promise<DecodedSound> {
    return new Promise((done, failed) => {
      if (!this.#isAlive) {
        failed(new Error('the decoder has ended'));
        return;
      }
      this.#asked.push({ done, failed });
      this.#worker.postMessage(request, transfer);
      if (this.#asked.length === 1) this.#beginStep();
    });
  }

  #take(answer: DecoderAnswer): void {
    const asked = this.#asked.shift();
    clearTimeout(this.#watch);
    if (this.#asked.length > 0) this.#beginStep();
    if (answer.kind === 'sound') asked?.done(answer);
    else asked?.failed(new Error(answer.message));
  }

  #beginStep(): void {
    this.#begunAt = performance.now();
    this.#begunBytes = process.memoryUsage.rss();
    this.#watch = setTimeout(() => this.#look(), WATCH_AFTER_MS);
  }

  /** Looks at a step that takes long, from outside: a decoder that is caught in a loop can't be asked. */
  #look(): void {
    const grownBytes = process.memoryUsage.rss() - this.#begunBytes;
    if (performance.now() - this.#begunAt > 1000 * this.#mostSec) {
      this.#fail(new DecoderLimitError(`64 kB of it could not be decoded within ${this.#mostSec} s`));
    } else if (grownBytes > this.#mostBytes) {
      const most = Math.round(this.#mostBytes / 2 ** 20);
      this.#fail(new DecoderLimitError(`to decode 64 kB of it took more than ${most} MB`));
    } else this.#watch = setTimeout(() => this.#look(), WATCH_EVERY_MS);
  }

  /** @param error  null when the player stopped it */
  #fail(error: unknown): void {
    if (!this.#isAlive) return;
    this.#isAlive = false;
    clearTimeout(this.#watch);
    void this.#worker.terminate();
    const why = error ?? interruption(this.#signal);
    for (const { failed } of this.#asked.splice(0)) failed(why);
  }

  /** Ends the thread. */
  async close(): Promise<void> {
    this.#isAlive = false;
    clearTimeout(this.#watch);
    await this.#worker.terminate();
  }
}

function interruption(signal: AbortSignal | undefined): unknown {
  try {
    throwIfStopped(signal);
    return new Error('stopped');
  } catch (error) {
    return error;
  }
}
