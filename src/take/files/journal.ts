import { createHash } from 'node:crypto';
import {
  closeSync,
  fdatasync,
  ftruncateSync,
  openSync,
  renameSync,
  statSync,
  unlinkSync,
  writeSync,
} from 'node:fs';
import { open } from 'node:fs/promises';
import { dirname } from 'node:path';
import { promisify } from 'node:util';
import type { Edit } from '../edits/edit.ts';

/** The journal of a take lies beside it. */
export const journalPath = (takePath: string): string => `${takePath}.journal`;

export const JOURNAL_FORMAT = 'reedtrace-journal';

/** The version that this program writes and reads. */
export const JOURNAL_VERSION = 1;

/** First line: which take the edits that follow belong to. */
export interface JournalHead {
  readonly format: typeof JOURNAL_FORMAT;
  readonly version: typeof JOURNAL_VERSION;
  /** SHA-256 of the take's file as it was saved last. */
  readonly take: string;
}

/** Hash of the text of a saved take. */
export function hashTake(text: string): string {
  return createHash('sha256').update(text).digest('hex');
}

/** Eight hexadecimal digits that tell a whole line from a torn one. */
export const checksum = (json: string): string => createHash('sha256').update(json).digest('hex').slice(0, 8);
const formatLine = (value: unknown): string => {
  const json = JSON.stringify(value);
  return `${checksum(json)} ${json}\n`;
};

/** State of the journal: everything is on disk as far as is known, or the disk refuses (with the system's code). */
export type JournalState =
  | { readonly kind: 'safe' }
  | { readonly kind: 'failed'; readonly code: string; readonly waiting: number };

/** After a failure, writing is retried after this time. */
const RETRY_MS = 1000;

/** An object, since the system may give the same number to another file. */
interface OpenFile {
  readonly fd: number;
}

const dataSync = promisify(fdatasync);

/**
 * The edits since the take was saved. Each is handed to the system at once, so that it survives the program, and
 * flushed to disk (fsync) as soon as possible. The file is only ever appended to; while the disk is full, edits stay in
 * memory and writing is retried every second.
 */
export class Journal {
  readonly #path: string;
  readonly #onState: (state: JournalState) => void;
  #head: JournalHead;
  #resumeAt: number | null;
  #file: OpenFile | null = null;
  /** Lines that the file doesn't have yet. */
  #waiting: string[] = [];
  /** Lines that are in the file but may not be on disk yet. */
  #unsynced: string[] = [];
  /** Bytes of the file that are whole, and that are on disk. */
  #length = 0;
  #syncedLength = 0;
  /** After the whole bytes there may be the remains of a failed write. */
  #isTorn = false;
  #syncing: Promise<void> | null = null;
  #retry: NodeJS.Timeout | null = null;
  #state: JournalState = { kind: 'safe' };

  /**
   * @param takeHash hash of the saved take
   * @param resumeAt bytes of the file to keep when continuing it; null starts a new one
   * @param onState  called on failures, and when everything is safe again
   */
  constructor(
    path: string,
    takeHash: string,
    resumeAt: number | null,
    onState: (state: JournalState) => void,
  ) {
    this.#path = path;
    this.#onState = onState;
    this.#head = headOf(takeHash);
    this.#resumeAt = resumeAt;
  }

  append(edit: Edit): void {
    this.#waiting.push(formatLine(edit));
    if (this.#retry === null) this.#write();
    else if (this.#state.kind === 'failed') this.#tell({ ...this.#state, waiting: this.#waiting.length });
  }

  /** Waits until all is on disk, or the disk has refused. */
  async settled(): Promise<JournalState> {
    while (this.#syncing !== null) await this.#syncing;
    return this.#state;
  }

  /**
   * Called when the take was just saved. The journal starts again, unless there are changes that the saved take lacks:
   * then it goes on, since edits that the take has are skipped on reading.
   */
  restart(takeHash: string, hasLater: boolean): void {
    this.#stopRetrying();
    if (hasLater) {
      this.#write();
      return;
    }
    this.#closeFile();
    try {
      unlinkSync(this.#path);
    } catch {
      // It is not there, or it stays with nothing that the take lacks.
    }
    this.#head = headOf(takeHash);
    this.#resumeAt = null;
    this.#waiting = [];
    this.#unsynced = [];
    this.#length = 0;
    this.#syncedLength = 0;
    this.#isTorn = false;
    this.#tell({ kind: 'safe' });
  }

  /** Leaves the file as it is. */
  async close(): Promise<void> {
    await this.settled();
    this.#stopRetrying();
    this.#closeFile();
  }

  #write(): void {
    if (this.#waiting.length === 0) return;
    try {
      this.#file ??= this.#open();
      const { fd } = this.#file;
      const lines = this.#length === 0 ? [formatLine(this.#head), ...this.#waiting] : this.#waiting;
      const bytes = Buffer.from(lines.join(''));
      if (this.#isTorn) ftruncateSync(fd, this.#length);
      this.#isTorn = true;
      writeAll(fd, bytes, this.#length);
      this.#isTorn = false;
      this.#length += bytes.length;
    } catch (error) {
      this.#fail(error);
      return;
    }
    this.#unsynced.push(...this.#waiting);
    this.#waiting = [];
    this.#sync();
  }

  #open(): OpenFile {
    // Readable by those who may read the take, and nobody else.
    const mode = statSync(this.#path.replace(/\.journal$/, ''), { throwIfNoEntry: false })?.mode ?? 0o666;
    const fd = openSync(this.#path, this.#resumeAt === null ? 'w' : 'r+', mode & 0o666);
    this.#length = this.#resumeAt ?? 0;
    this.#syncedLength = this.#length;
    this.#isTorn = this.#resumeAt !== null;
    return { fd };
  }

  #sync(): void {
    const file = this.#file;
    if (file === null || this.#syncing !== null) return;
    const [length, count] = [this.#length, this.#unsynced.length];
    const synced = async () => {
      await dataSync(file.fd);
      if (this.#syncedLength === 0) await syncFolder(dirname(this.#path));
    };
    this.#syncing = synced().then(
      () => {
        this.#syncing = null;
        if (file !== this.#file) return this.#sync();
        this.#syncedLength = length;
        this.#unsynced.splice(0, count);
        if (this.#unsynced.length > 0) this.#sync();
        else if (this.#waiting.length === 0) this.#tell({ kind: 'safe' });
      },
      (error: unknown) => {
        this.#syncing = null;
        if (file !== this.#file) return this.#sync();
        this.#waiting = [...this.#unsynced, ...this.#waiting];
        this.#unsynced = [];
        this.#length = this.#syncedLength;
        this.#isTorn = true;
        this.#fail(error);
      },
    );
  }

  #fail(error: unknown): void {
    const code = (error as NodeJS.ErrnoException).code ?? String(error);
    this.#stopRetrying();
    this.#retry = setTimeout(() => {
      this.#retry = null;
      this.#write();
    }, RETRY_MS);
    this.#retry.unref();
    this.#tell({ kind: 'failed', code, waiting: this.#waiting.length });
  }

  #stopRetrying(): void {
    if (this.#retry !== null) clearTimeout(this.#retry);
    this.#retry = null;
  }

  #closeFile(): void {
    const file = this.#file;
    this.#file = null;
    if (file === null) return;
    if (this.#syncing === null) closeSync(file.fd);
    else void this.#syncing.finally(() => closeSync(file.fd));
  }

  #tell(state: JournalState): void {
    if (state.kind === 'safe' && this.#state.kind === 'safe') return;
    this.#state = state;
    this.#onState(state);
  }
}

function headOf(takeHash: string): JournalHead {
  return { format: JOURNAL_FORMAT, version: JOURNAL_VERSION, take: takeHash };
}

function writeAll(fd: number, bytes: Buffer, at: number): void {
  let written = 0;
  while (written < bytes.length) {
    written += writeSync(fd, bytes, written, bytes.length - written, at + written);
  }
}

/** A new file only survives a power failure if its folder is flushed too, which not all systems can do. */
async function syncFolder(folder: string): Promise<void> {
  const handle = await open(folder, 'r').catch(() => null);
  await handle?.sync().catch(() => {});
  await handle?.close();
}

/**
 * Renames a journal to get it out of the way without losing it.
 * @returns its new path
 * @throws the error of the system when it can't be renamed
 */
export function setJournalAside(takePath: string, now: Date): string {
  const aside = `${journalPath(takePath)}.${now.toISOString().replace(/[:.]/g, '-')}`;
  renameSync(journalPath(takePath), aside);
  return aside;
}
