import type { Format } from '../formats/sniff.ts';
import type { DecodedSound } from './decoded-sound.ts';
import { DecoderThread } from './decoder-thread.ts';

/** How long a thread is kept for the next recording: of many short ones, each would else wait for its start. */
const KEPT_MS = 10_000;

let kept: { readonly thread: DecoderThread; readonly timer: NodeJS.Timeout } | null = null;

/**
 * One stream through a decoder that others wrote. It runs in a thread of its own, so that bad data can neither take the
 * memory of the programme nor hold it up: time and memory of each step are limited (`LIMITS.decodeSec`, `decodeBytes`).
 */
export class StreamDecoder {
  readonly #thread: DecoderThread;
  #failed = false;

  private constructor(thread: DecoderThread) {
    this.#thread = thread;
  }

  /** @param signal ends the thread at once */
  static async open(decoder: Format['decoder'], signal?: AbortSignal): Promise<StreamDecoder> {
    const thread = takeKept() ?? new DecoderThread();
    thread.begin(signal);
    const stream = new StreamDecoder(thread);
    await stream.#ask({ kind: 'open', decoder });
    return stream;
  }

  /** @param bytes  given away: the memory goes to the thread */
  decode(bytes: Uint8Array<ArrayBuffer>): Promise<DecodedSound> {
    return this.#ask({ kind: 'decode', bytes }, [bytes.buffer]);
  }

  /** What was still held back. */
  end(): Promise<DecodedSound> {
    return this.#ask({ kind: 'end' });
  }

  /** Lets the decoder go; after a failure with its thread, as codecs keep what they broke. */
  async free(): Promise<void> {
    if (!this.#failed) await this.#ask({ kind: 'free' }).catch(() => {});
    this.#thread.finish();
    if (this.#failed || kept !== null) await this.#thread.close();
    else keep(this.#thread);
  }

  async #ask(...asked: Parameters<DecoderThread['ask']>): Promise<DecodedSound> {
    try {
      return await this.#thread.ask(...asked);
    } catch (error) {
      this.#failed = true;
      throw error;
    }
  }
}

function keep(thread: DecoderThread): void {
  const timer = setTimeout(() => {
    kept = null;
    void thread.close();
  }, KEPT_MS);
  timer.unref();
  kept = { thread, timer };
}

function takeKept(): DecoderThread | null {
  if (kept === null) return null;
  clearTimeout(kept.timer);
  const { thread } = kept;
  kept = null;
  return thread.isAlive ? thread : null;
}
