import type { Format } from '../formats/sniff.ts';
import type { DecodedSound } from './decoded-sound.ts';
import { DecoderProcess } from './decoder-process.ts';

/** How long a process is kept for the next recording; otherwise each of many short ones would wait for it to start. */
const KEPT_MS = 10_000;

let kept: { readonly decoder: DecoderProcess; readonly timer: NodeJS.Timeout } | null = null;

/**
 * One stream through a third-party decoder. It runs in a process of its own, so that bad data can neither use up the
 * program's memory nor hold it up: time and memory of each step are limited (`LIMITS.decodeSec`, `decodeBytes`).
 */
export class StreamDecoder {
  readonly #process: DecoderProcess;
  #failed = false;

  private constructor(process: DecoderProcess) {
    this.#process = process;
  }

  /** @param signal ends the process at once */
  static async open(decoder: Format['decoder'], signal?: AbortSignal): Promise<StreamDecoder> {
    const process = takeKept() ?? new DecoderProcess();
    process.begin(signal);
    const stream = new StreamDecoder(process);
    await stream.#ask({ kind: 'open', decoder });
    return stream;
  }

  decode(bytes: Uint8Array<ArrayBuffer>): Promise<DecodedSound> {
    return this.#ask({ kind: 'decode', bytes });
  }

  /** Returns what was still held back. */
  end(): Promise<DecodedSound> {
    return this.#ask({ kind: 'end' });
  }

  /** Releases the decoder; after a failure its process too, since codecs stay broken. */
  async free(): Promise<void> {
    if (!this.#failed) await this.#ask({ kind: 'free' }).catch(() => {});
    this.#process.finish();
    if (this.#failed || kept !== null) this.#process.close();
    else keep(this.#process);
  }

  async #ask(...asked: Parameters<DecoderProcess['ask']>): Promise<DecodedSound> {
    try {
      return await this.#process.ask(...asked);
    } catch (error) {
      this.#failed = true;
      throw error;
    }
  }
}

function keep(decoder: DecoderProcess): void {
  const timer = setTimeout(() => {
    kept = null;
    decoder.close();
  }, KEPT_MS);
  timer.unref();
  kept = { decoder, timer };
}

function takeKept(): DecoderProcess | null {
  if (kept === null) return null;
  clearTimeout(kept.timer);
  const { decoder } = kept;
  kept = null;
  return decoder.isAlive ? decoder : null;
}
