import { Worker } from 'node:worker_threads';
import type { CustomHarp, HarpSpec } from '../../harp/types.ts';
import type { Take } from '../../take/schema.ts';
import { moduleBeside } from '../../threads/module-beside.ts';
import { type Ahead, sameHarp } from '../state/ahead.ts';
import type { ReadingAnswer, ReadingRequest } from './reading-thread.ts';

const READING_THREAD = moduleBeside(import.meta.url, 'reading-thread');

/** Reads a take on harps that are being chosen, in a thread of its own. */
export class ReadingAhead {
  readonly #onRead: (ahead: Ahead) => void;
  #thread: Worker | null = null;
  #take: Take | null = null;
  #asked: HarpSpec | null = null;
  #waiting: (() => void)[] = [];

  constructor(onRead: (ahead: Ahead) => void) {
    this.#onRead = onRead;
  }

  ask(take: Take, harp: HarpSpec, custom: CustomHarp): void {
    this.#thread ??= this.#start();
    const isKnown = this.#take === take;
    this.#take = take;
    this.#asked = harp;
    // Reading does not need the edits, which may be many.
    const sent = isKnown ? null : { ...take, edits: [] };
    this.#thread.postMessage({ take: sent, harp, custom } satisfies ReadingRequest);
  }

  /** Calls back once the last request is read or has failed; at once if there is none. */
  whenRead(then: () => void): void {
    if (this.#asked === null) then();
    else this.#waiting.push(then);
  }

  close(): void {
    void this.#thread?.terminate();
  }

  #start(): Worker {
    const thread = new Worker(READING_THREAD);
    thread.on('message', ({ harp, patch }: ReadingAnswer) => {
      if (this.#take === null || this.#asked === null || !sameHarp(harp, this.#asked)) return;
      this.#asked = null;
      this.#onRead({ of: this.#take, harp, patch });
      this.#goOn();
    });
    // The harp is then read in this thread, when it is chosen.
    thread.on('error', () => {
      this.#thread = null;
      this.#take = null;
      this.#asked = null;
      this.#goOn();
    });
    return thread;
  }

  #goOn(): void {
    for (const then of this.#waiting.splice(0)) then();
  }
}
