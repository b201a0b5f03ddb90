import { createHash } from 'node:crypto';
import { type FileHandle, open, readFile, rename, unlink } from 'node:fs/promises';
import { dirname } from 'node:path';
import { applyEdit, type Edit, type EditedTake, openEdits } from './edits.ts';
import type { Take } from './schema.ts';

/** The journal of a take lies beside it. */
export const journalPath = (takePath: string): string => `${takePath}.journal`;

const FORMAT = 'reedtrace-journal';

/** First line: which take the edits that follow belong to. */
interface JournalHead {
  readonly format: typeof FORMAT;
  readonly version: 1;
  /** SHA-256 of the take's file as it was saved last. */
  readonly take: string;
}

/** What a journal holds that the take doesn't have yet. */
export type Recovery =
  | { readonly kind: 'nothing' }
  | {
      readonly kind: 'edits';
      readonly edits: readonly Edit[];
      /** A torn or damaged end was left out. */
      readonly damaged: boolean;
      /** Bytes of the journal that are whole. */
      readonly bytes: number;
    }
  /** The journal is of another state of the take, such as before it was transcribed again. */
  | { readonly kind: 'foreign'; readonly count: number };

/** Fingerprint of the text of a saved take. */
export function hashTake(text: string): string {
  return createHash('sha256').update(text).digest('hex');
}

/** Eight hexadecimal digits that tell a whole line from a torn one. */
const checksum = (json: string): string => createHash('sha256').update(json).digest('hex').slice(0, 8);
const formatLine = (value: unknown): string => {
  const json = JSON.stringify(value);
  return `${checksum(json)} ${json}\n`;
};

/** The whole lines at the start of a journal; a torn or damaged line ends it. */
function readLines(text: string): { values: unknown[]; damaged: boolean; bytes: number } {
  const values: unknown[] = [];
  let bytes = 0;
  const lines = text.split('\n');
  const rest = lines.pop();
  for (const line of lines) {
    const json = line.slice(9);
    if (line.slice(0, 9) !== `${checksum(json)} `) return { values, damaged: true, bytes };
    values.push(JSON.parse(json));
    bytes += Buffer.byteLength(line) + 1;
  }
  return { values, damaged: rest !== '', bytes };
}

/**
 * Reads what a journal's text has to offer for a take; edits that the take holds already are left out.
 * @param hash  of the text of the take
 */
export function readJournal(text: string, take: Take, hash: string): Recovery {
  const { values, damaged, bytes } = readLines(text);
  const [head, ...lines] = values as [JournalHead | undefined, ...Edit[]];
  if (head === undefined || head.format !== FORMAT) return { kind: 'nothing' };
  // The program may have been killed between saving the take and clearing the journal.
  const isHeld = (line: Edit) => JSON.stringify(take.edits[line.seq - 1]) === JSON.stringify(line);
  const edits = lines.slice(lines.filter(isHeld).length);
  if (edits.length === 0) return { kind: 'nothing' };
  if (head.take !== hash && edits.length === lines.length) return { kind: 'foreign', count: lines.length };
  try {
    replay(openEdits(take), edits);
  } catch {
    return { kind: 'foreign', count: lines.length };
  }
  return { kind: 'edits', edits, damaged, bytes };
}

/** The take after the edits of a journal. @throws RangeError when they don't fit */
export function replay(state: EditedTake, edits: readonly Edit[]): EditedTake {
  return edits.reduce(applyEdit, state);
}

/** How the journal stands: all is on disk, some is on its way, or the disk refuses (code of the system). */
export type JournalState =
  | { readonly kind: 'safe' }
  | { readonly kind: 'writing' }
  | { readonly kind: 'failed'; readonly code: string; readonly waiting: number };

/** After a failure, writing is tried again in this time. */
const RETRY_MS = 1000;

/**
 * The edits since the take was saved, each on disk (fsync) as soon as the disk can, one after another. Only ever
 * appended to; a full disk keeps the edits in memory and is tried again every second.
 */
export class Journal {
  readonly #path: string;
  readonly #onState: (state: JournalState) => void;
  readonly #ready: Promise<unknown>;
  #head: JournalHead;
  #resumeAt: number | null;
  #pending: string[] = [];
  #file: FileHandle | null = null;
  /** Bytes that are known to be whole, once the file is open; what a failed write left behind them is cut off. */
  #length: number | null = null;
  #working: Promise<void> | null = null;
  #retry: NodeJS.Timeout | null = null;
  #paused = false;
  #state: JournalState = { kind: 'safe' };

  /**
   * @param takeHash  of the take as it is saved
   * @param resumeAt  bytes of the file that stay, when it is gone on with; null begins a new one
   * @param ready  nothing is written before; for an old journal that is still being put aside
   */
  constructor(
    path: string,
    takeHash: string,
    resumeAt: number | null,
    onState: (state: JournalState) => void,
    ready: Promise<unknown> = Promise.resolve(),
  ) {
    this.#ready = ready;
    this.#path = path;
    this.#onState = onState;
    this.#head = headOf(takeHash);
    this.#resumeAt = resumeAt;
  }

  get state(): JournalState {
    return this.#state;
  }

  append(edit: Edit): void {
    this.#pending.push(formatLine(edit));
    if (this.#state.kind === 'failed') this.#tell({ ...this.#state, waiting: this.#pending.length });
    else this.#work();
  }

  /** Waits until all is on disk, or the disk has refused. */
  async settled(): Promise<JournalState> {
    while (this.#working !== null) await this.#working;
    return this.#state;
  }

  /**
   * Begins anew for a take that was just saved. The old journal stays until the new one is on disk.
   * @param later  the edits that are not in the saved take, asked for at the moment when they are written
   */
  async restart(takeHash: string, later: () => readonly Edit[]): Promise<void> {
    this.#paused = true;
    if (this.#retry !== null) clearTimeout(this.#retry);
    await this.#working;
    await this.#ready;
    await this.#close();
    this.#head = headOf(takeHash);
    this.#resumeAt = null;
    this.#length = null;
    const edits = later();
    this.#pending = [];
    try {
      if (edits.length === 0) await unlink(this.#path);
      else await this.#replace(edits);
    } catch (error) {
      // Without the new file the old one tells the same: what the take holds is passed over when it is read.
      if ((error as NodeJS.ErrnoException).code !== 'ENOENT') {
        this.#pending = [...edits.map(formatLine), ...this.#pending];
      }
    }
    this.#paused = false;
    if (this.#pending.length > 0) this.#work();
    else this.#tell({ kind: 'safe' });
  }

  async #replace(edits: readonly Edit[]): Promise<void> {
    const bytes = Buffer.from([formatLine(this.#head), ...edits.map(formatLine)].join(''));
    const fresh = `${this.#path}.new`;
    const file = await open(fresh, 'w');
    try {
      await writeAll(file, bytes, 0);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(fresh, this.#path);
    await syncFolder(dirname(this.#path));
    this.#resumeAt = bytes.length;
  }

  /** Leaves the file as it is. */
  async close(): Promise<void> {
    await this.settled();
    if (this.#retry !== null) clearTimeout(this.#retry);
    await this.#close();
  }

  async #close(): Promise<void> {
    await this.#file?.close().catch(() => {});
    this.#file = null;
  }

  #tell(state: JournalState): void {
    this.#state = state;
    this.#onState(state);
  }

  #work(): void {
    if (this.#working !== null || this.#paused) return;
    this.#tell({ kind: 'writing' });
    this.#working = this.#drain().then(
      () => {
        this.#working = null;
        if (this.#pending.length > 0) this.#work();
        else this.#tell({ kind: 'safe' });
      },
      (error: unknown) => {
        this.#working = null;
        const code = (error as NodeJS.ErrnoException).code ?? String(error);
        this.#tell({ kind: 'failed', code, waiting: this.#pending.length });
        this.#retry = setTimeout(() => this.#work(), RETRY_MS);
        this.#retry.unref();
      },
    );
  }

  async #drain(): Promise<void> {
    await this.#ready;
    const batch = this.#pending.slice();
    if (batch.length === 0) return;
    const begins = this.#file === null && this.#resumeAt === null;
    this.#file ??= await open(this.#path, begins ? 'w' : 'r+');
    this.#length ??= this.#resumeAt ?? 0;
    const file = this.#file;
    const lines = this.#length === 0 ? [formatLine(this.#head), ...batch] : batch;
    const bytes = Buffer.from(lines.join(''));
    await file.truncate(this.#length);
    await writeAll(file, bytes, this.#length);
    await file.datasync();
    if (this.#length === 0) await syncFolder(dirname(this.#path));
    this.#length += bytes.length;
    this.#pending.splice(0, batch.length);
  }
}

function headOf(takeHash: string): JournalHead {
  return { format: FORMAT, version: 1, take: takeHash };
}

async function writeAll(file: FileHandle, bytes: Buffer, at: number): Promise<void> {
  let written = 0;
  while (written < bytes.length) {
    const { bytesWritten } = await file.write(bytes, written, bytes.length - written, at + written);
    written += bytesWritten;
  }
}

/** A new file is only there after a power loss when its folder was written too; not all systems can. */
async function syncFolder(folder: string): Promise<void> {
  const handle = await open(folder, 'r').catch(() => null);
  await handle?.sync().catch(() => {});
  await handle?.close();
}

/** Text of the journal of a take; empty when there is none. */
export async function loadJournal(takePath: string): Promise<string> {
  return readFile(journalPath(takePath), 'utf8').catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return '';
    throw error;
  });
}

/**
 * Puts a journal out of the way without losing it.
 * @returns its new path
 */
export async function setJournalAside(takePath: string, now: Date): Promise<string> {
  const aside = `${journalPath(takePath)}.${now.toISOString().replace(/[:.]/g, '-')}`;
  await rename(journalPath(takePath), aside);
  return aside;
}
