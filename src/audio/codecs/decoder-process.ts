import { type ChildProcess, fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { LIMITS } from '../../limits.ts';
import { throwIfStopped } from '../source.ts';
import type { DecodedSound } from './decoded-sound.ts';
import type { DecoderAnswer, DecoderRequest } from './decoder-child.ts';

/** The process always runs the built code, even when the program runs from its sources. */
const CHILD = new URL(
  import.meta.url
    .replace(/\/src\/(.*)\/[^/]+\.ts$/, '/dist/$1/decoder-process.js')
    .replace(/[^/]+$/, 'decoder-child.js'),
);

/** Memory for JavaScript objects, such as the tables of an index, but not for samples. */
const OLD_MB = 1024;

interface Asked {
  readonly done: (sound: DecodedSound) => void;
  readonly failed: (error: unknown) => void;
}

/** A decoder took more time or memory than any recording needs, or crashed. */
export class DecoderLimitError extends Error {}

/**
 * A process that decodes; answers come in the order of the requests. A thread would not do: V8 ends the whole process
 * when a list in one of its threads grows too large.
 */
export class DecoderProcess {
  readonly #child: ChildProcess;
  readonly #asked: Asked[] = [];
  #signal: AbortSignal | undefined;
  readonly #stop = (): void => this.#fail(null);
  #timer: NodeJS.Timeout | undefined;
  #isAlive = true;

  readonly #mostSec: number;
  readonly #mostBytes: number;

  /**
   * @param module what the process runs; it is passed the number of bytes by which it may grow in one step
   * @param mostSec time limit of one step
   */
  constructor(
    module: URL = CHILD,
    mostSec: number = LIMITS.decodeSec.most,
    mostBytes: number = LIMITS.decodeBytes.most,
  ) {
    this.#mostSec = mostSec;
    this.#mostBytes = mostBytes;
    this.#child = fork(fileURLToPath(module), [String(mostBytes)], {
      serialization: 'advanced',
      execArgv: [`--max-old-space-size=${OLD_MB}`],
      stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
    });
    this.#child.on('message', (answer) => this.#take(answer as DecoderAnswer));
    this.#child.on('error', (error) => this.#fail(error));
    this.#child.on('exit', (code, signal) => this.#fail(this.#whyEnded(code, signal)));
    this.#hold(false);
  }

  get isAlive(): boolean {
    return this.#isAlive;
  }

  /** Called when a stream begins: from now on the process keeps the program alive. */
  begin(signal: AbortSignal | undefined): void {
    this.#hold(true);
    this.#signal = signal;
    signal?.addEventListener('abort', this.#stop, { once: true });
  }

  finish(): void {
    this.#signal?.removeEventListener('abort', this.#stop);
    this.#signal = undefined;
    this.#hold(false);
  }

  /**
   * @throws Error with what the decoder says is wrong, or that it took too long or too much memory; ReedtraceError
   *   E_INTERRUPTED
   */
  ask(request: DecoderRequest): Promise<DecodedSound> {
    return new Promise((done, failed) => {
      if (!this.#isAlive) {
        failed(new Error('the decoder has ended'));
        return;
      }
      this.#asked.push({ done, failed });
      // A failure to send shows up as the end of the process.
      this.#child.send(request, () => {});
      if (this.#asked.length === 1) this.#beginStep();
    });
  }

  /** Ends the process. */
  close(): void {
    this.#isAlive = false;
    clearTimeout(this.#timer);
    this.#child.kill('SIGKILL');
  }

  #hold(isHeld: boolean): void {
    const change = isHeld ? 'ref' : 'unref';
    this.#child[change]();
    this.#child.channel?.[change]();
  }

  #take(answer: DecoderAnswer): void {
    const asked = this.#asked.shift();
    clearTimeout(this.#timer);
    if (this.#asked.length > 0) this.#beginStep();
    if (answer.kind === 'sound') asked?.done(answer);
    else asked?.failed(new Error(answer.message));
  }

  #beginStep(): void {
    const late = new DecoderLimitError(`64 kB of it could not be decoded within ${this.#mostSec} s`);
    this.#timer = setTimeout(() => this.#fail(late), 1000 * this.#mostSec);
  }

  /** The memory guard ends the process with SIGKILL, V8 with other signals. */
  #whyEnded(code: number | null, signal: NodeJS.Signals | null): Error {
    const most = Math.round(this.#mostBytes / 2 ** 20);
    return new DecoderLimitError(
      signal === 'SIGKILL'
        ? `decoding 64 kB of it took more than ${most} MB`
        : `its decoder crashed (${signal ?? `exit code ${code}`})`,
    );
  }

  /** @param error  null when the player stopped it */
  #fail(error: unknown): void {
    if (!this.#isAlive) return;
    this.close();
    const why = error ?? interruption(this.#signal);
    for (const { failed } of this.#asked.splice(0)) failed(why);
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
