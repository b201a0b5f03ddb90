import { unlinkSync } from 'node:fs';
import { basename } from 'node:path';
import { ReedtraceError } from '../../errors.ts';
import type { Edit } from '../../take/edits/edit.ts';
import { mergePatch } from '../../take/edits/merge.ts';
import type { TakePatch } from '../../take/edits/patch.ts';
import {
  hashTake,
  Journal,
  type JournalState,
  journalPath,
  setJournalAside,
} from '../../take/files/journal.ts';
import type { TakeLock } from '../../take/files/lock.ts';
import { checkUnchanged, lookSinceOpened } from '../../take/files/since-opened.ts';
import { writeTake } from '../../take/files/store.ts';
import { formatTake } from '../../take/format.ts';
import { parseTake } from '../../take/parse.ts';
import type { Take } from '../../take/schema.ts';

/** A lock is refreshed this often. */
const REFRESH_MS = 10_000;

/** Where a take is kept. */
export interface Place {
  readonly path: string;
  /** The text that the take was read from. */
  readonly text: string;
  /** Null if nothing may be written: the take is read-only. */
  readonly lock: TakeLock | null;
}

/** What another program has done to a take: null if it was deleted, or is no longer a take. */
export interface Elsewhere {
  readonly theirs: { readonly take: Take; readonly text: string } | null;
  /** Merges the player's changes into theirs; null if both changed the same. */
  readonly merge: TakePatch | null;
}

/** Keeps the changes of one session: in the journal at once, in the take's file when they are saved. */
export class Keeping {
  readonly #place: Place;
  readonly #onJournal: (state: JournalState) => void;
  readonly #refresh: NodeJS.Timeout;
  #journal: Journal;
  /** Hash of the take as this program last read or wrote it. */
  #hash: string;
  /** The text with that hash. */
  #base: string;
  #saving: Promise<void> = Promise.resolve();

  constructor(place: Place, onJournal: (state: JournalState) => void) {
    this.#place = place;
    this.#onJournal = onJournal;
    this.#hash = hashTake(place.text);
    this.#base = place.text;
    this.#journal = this.#newJournal(null);
    this.#refresh = setInterval(() => place.lock?.refresh(), REFRESH_MS);
    this.#refresh.unref();
  }

  #newJournal(resumeAt: number | null): Journal {
    return new Journal(journalPath(this.#place.path), this.#hash, resumeAt, this.#onJournal);
  }

  append(edit: Edit): void {
    this.#journal.append(edit);
  }

  /**
   * Continues a leftover journal after this many bytes; null sets it aside and writes the edits to a new one.
   * @throws the error of the system when it can not be renamed
   */
  resume(bytes: number | null, edits: readonly Edit[]): void {
    if (bytes === null) setJournalAside(this.#place.path, new Date());
    this.#journal = this.#newJournal(bytes);
    if (bytes === null) for (const edit of edits) this.#journal.append(edit);
  }

  /**
   * Sets a leftover journal aside.
   * @returns its new name
   * @throws the error of the system when it can not be renamed
   */
  setAside(): string {
    const aside = setJournalAside(this.#place.path, new Date());
    this.#journal = this.#newJournal(null);
    return basename(aside);
  }

  /**
   * Writes the take; a second call waits for the first.
   * @param now  the take as it is at that moment
   * @param over overwrite even what another program wrote meanwhile
   * @returns the take that was written
   * @throws ReedtraceError E_TAKE_CHANGED, E_CANNOT_WRITE
   */
  save(now: () => Take, over = false): Promise<Take> {
    const saved = this.#saving.then(() => this.#saveNow(now, over));
    this.#saving = saved.then(
      () => {},
      () => {},
    );
    return saved;
  }

  async #saveNow(now: () => Take, over: boolean): Promise<Take> {
    const take = now();
    if (!over) await checkUnchanged(this.#place.path, this.#hash);
    await writeTake(this.#place.path, take, { force: true });
    this.#base = formatTake(take);
    this.#hash = hashTake(this.#base);
    this.#journal.restart(this.#hash, now().edits.length > take.edits.length);
    return take;
  }

  /** What another program has done to the take since it was read or saved. */
  async lookElsewhere(mine: Take): Promise<Elsewhere | null> {
    const { path } = this.#place;
    const found = await lookSinceOpened(path, this.#hash);
    if (found.kind === 'same') return null;
    if (found.kind === 'gone') return { theirs: null, merge: null };
    try {
      const take = parseTake(found.text, basename(path));
      return {
        theirs: { take, text: found.text },
        merge: mergePatch(parseTake(this.#base, basename(path)), mine, take),
      };
    } catch {
      // What they wrote is not a take: it can only be left alone or overwritten.
      return { theirs: null, merge: null };
    }
  }

  /**
   * Writes a take next to its own file, under a free name.
   * @returns the name
   * @throws ReedtraceError E_CANNOT_WRITE
   */
  async saveElsewhere(take: Take): Promise<string> {
    const stem = this.#place.path.replace(/(\.take)?\.json$/, '');
    for (let number = 1; ; number++) {
      const path = `${stem}.mine${number === 1 ? '' : `-${number}`}.take.json`;
      try {
        await writeTake(path, take, { force: false });
        return basename(path);
      } catch (error) {
        if (!(error instanceof ReedtraceError) || error.code !== 'E_EXISTS') throw error;
      }
    }
  }

  /**
   * Continues from what another program saved; `edits` are the player's changes merged into it. The player's own
   * changes stay in the journal that is set aside, unless they are safe elsewhere.
   * @throws the error of the system if the journal can't be renamed
   */
  adopt(text: string, edits: readonly Edit[], isSafe: boolean): void {
    const aside = setJournalAside(this.#place.path, new Date());
    this.#hash = hashTake(text);
    this.#base = text;
    this.#journal = this.#newJournal(null);
    for (const edit of edits) this.#journal.append(edit);
    if (isSafe || edits.length > 0) unlinkSync(aside);
  }

  /** Forgets the changes that were not saved. */
  drop(): void {
    this.#journal.restart('', false);
  }

  /** Waits until everything is on disk, or the disk has refused, and releases the lock. */
  async close(): Promise<void> {
    clearInterval(this.#refresh);
    await this.#journal.close();
    this.#place.lock?.release();
  }
}
