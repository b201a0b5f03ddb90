import { createHash } from 'node:crypto';
import { constants } from 'node:fs';
import { type FileHandle, mkdtemp, open, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { ReedtraceError } from '../errors.ts';
import { missingFault } from '../files/read-input.ts';

/**
 * Size of a chunk. The correction screen answers keys between chunks: decoding 64 KiB takes up to 32 ms, 256 KiB 96 ms
 * (Ogg).
 */
export const CHUNK_BYTES = 64 * 1024;
/** The same for plain samples, of which this much takes 1 ms: a quarter as many calls of the system. */
export const PLAIN_CHUNK_BYTES = 256 * 1024;

export interface ReadWatch {
  signal?: AbortSignal | undefined;
  onProgress?: ((fraction: number) => void) | undefined;
}

export function throwIfStopped(signal: AbortSignal | undefined): void {
  if (signal?.aborted) throw new ReedtraceError('E_INTERRUPTED', 'stopped', 'run the command again');
}

/** The bytes of one recording, opened read-only; `close` must be called. */
export class ByteSource {
  /** Base name for messages and for the take; `standard input` when piped. */
  readonly file: string;
  readonly size: number;
  readonly #handle: FileHandle;
  readonly #dispose: () => Promise<void>;
  readonly #hash = createHash('sha256');

  private constructor(file: string, size: number, handle: FileHandle, dispose: () => Promise<void>) {
    this.file = file;
    this.size = size;
    this.#handle = handle;
    this.#dispose = dispose;
  }

  static async open(path: string, signal?: AbortSignal): Promise<ByteSource> {
    return path === '-' ? ByteSource.#openPiped(signal) : ByteSource.#openFile(path);
  }

  static async #openFile(path: string): Promise<ByteSource> {
    try {
      // Checked before opening: opening a pipe that nobody writes to would wait for ever.
      const info = await stat(path);
      if (info.isDirectory()) {
        throw new ReedtraceError('E_NOT_A_FILE', `'${path}' is a folder`, 'name a recording inside it');
      }
      if (!info.isFile()) {
        throw new ReedtraceError(
          'E_NOT_A_FILE',
          `'${path}' is a device or a pipe, not a file`,
          "name a recording, or pipe it in and give '-' as its name",
        );
      }
      const handle = await open(path, 'r');
      return new ByteSource(basename(path), info.size, handle, async () => {});
    } catch (error) {
      throw asOpenError(path, error);
    }
  }

  /** Standard input is stored in a temporary file: decoders need its end before its middle. */
  static async #openPiped(signal?: AbortSignal): Promise<ByteSource> {
    if (process.stdin.isTTY) {
      throw new ReedtraceError(
        'E_USAGE',
        'standard input is empty',
        "pipe one in, or name a file instead of '-'",
      );
    }
    const folder = await mkdtemp(join(tmpdir(), 'reedtrace-')).catch((cause: unknown) => {
      throw new ReedtraceError(
        'E_CANNOT_WRITE',
        `standard input can't be stored in '${tmpdir()}' (${reason(cause)})`,
        'set TMPDIR to a folder you can write to, or name a file instead',
        { cause },
      );
    });
    const dispose = () => rm(folder, { recursive: true, force: true });
    let handle: FileHandle | undefined;
    try {
      handle = await open(
        join(folder, 'input'),
        constants.O_RDWR | constants.O_CREAT | constants.O_EXCL,
        0o600,
      );
      // Where the system allows, the file is unlinked at once, so that nothing is left even after a crash.
      if (process.platform !== 'win32') await dispose();
      let size = 0;
      for await (const piece of process.stdin) {
        throwIfStopped(signal);
        const bytes = piece as Buffer;
        let written = 0;
        while (written < bytes.length) {
          written += (await handle.write(bytes, written, bytes.length - written, size + written))
            .bytesWritten;
        }
        size += bytes.length;
      }
      return new ByteSource('standard input', size, handle, dispose);
    } catch (error) {
      await handle?.close();
      await dispose();
      throwIfStopped(signal);
      if (error instanceof ReedtraceError) throw error;
      throw new ReedtraceError(
        'E_CANNOT_WRITE',
        `standard input could not be stored in '${tmpdir()}' (${reason(error)})`,
        'free some space there, or name a file instead',
        { cause: error },
      );
    }
  }

  /** Up to `length` bytes from `position` on; fewer at the end of the file. */
  async readAt(position: number, length: number): Promise<Uint8Array<ArrayBuffer>> {
    const wanted = Math.max(0, Math.min(length, this.size - position));
    const bytes = new Uint8Array(wanted);
    const read = await this.#fill(bytes, position);
    return bytes.subarray(0, read);
  }

  /**
   * The whole file in order, hashed on the way. The next chunk is read while the current one is in use, so a chunk is
   * valid only until the one after the next.
   */
  async *chunks(watch: ReadWatch, bytes = CHUNK_BYTES): AsyncGenerator<Uint8Array<ArrayBuffer>> {
    const buffers = [new Uint8Array(bytes), new Uint8Array(bytes)];
    let turn = 0;
    let position = 0;
    let pending = this.#fill(buffers[0], 0);
    while (position < this.size) {
      throwIfStopped(watch.signal);
      const read = await pending;
      if (read === 0) return;
      const chunk = buffers[turn].subarray(0, read);
      position += read;
      turn = 1 - turn;
      pending = this.#fill(buffers[turn], position);
      // Not awaited if the consumer stops early: its failure must not then end the process.
      pending.catch(() => {});
      this.#hash.update(chunk);
      yield chunk;
      watch.onProgress?.(Math.min(1, position / this.size));
    }
    await pending;
  }

  /** Hex digest of everything that has passed through `chunks`; can be called once. */
  sha256(): string {
    return this.#hash.digest('hex');
  }

  async #fill(bytes: Uint8Array, position: number): Promise<number> {
    const wanted = Math.min(bytes.length, this.size - position);
    let filled = 0;
    try {
      while (filled < wanted) {
        const { bytesRead } = await this.#handle.read(bytes, filled, wanted - filled, position + filled);
        if (bytesRead === 0) break;
        filled += bytesRead;
      }
    } catch (error) {
      throw asOpenError(this.file, error);
    }
    return filled;
  }

  async close(): Promise<void> {
    await this.#handle.close();
    await this.#dispose();
  }
}

function reason(error: unknown): string {
  return (error as NodeJS.ErrnoException)?.code ?? String(error);
}

function asOpenError(path: string, error: unknown): ReedtraceError {
  if (error instanceof ReedtraceError) return error;
  const options = { cause: error };
  switch (reason(error)) {
    case 'ENOENT':
    case 'ENOTDIR':
      return missingFault(path, 'check the name and the folder', error);
    case 'EACCES':
    case 'EPERM':
      return new ReedtraceError(
        'E_NOT_A_FILE',
        `'${path}' can't be read: permission denied`,
        'allow reading it, or copy it to a folder of your own',
        options,
      );
    default:
      return new ReedtraceError(
        'E_NOT_A_FILE',
        `'${path}' could not be read (${reason(error)})`,
        'check the disk or copy the file elsewhere',
        options,
      );
  }
}
