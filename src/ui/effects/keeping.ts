import { basename } from 'node:path';
import type { Edit } from '../../take/edits.ts';
import { hashTake, Journal, type JournalState, journalPath, setJournalAside } from '../../take/journal.ts';
import type { TakeLock } from '../../take/lock.ts';
import { formatTake, type Take } from '../../take/schema.ts';
import { checkUnchanged } from '../../take/since-opened.ts';
import { writeTake } from '../../take/store.ts';

/** A lock is refreshed this often. */
const REFRESH_MS = 10_000;

/** Where a take is kept. */
export interface Place {
  readonly path: string;
  /** The text that the take was read from. */
  readonly text: string;
  readonly lock: TakeLock;
}

/** What keeps the changes of one sitting: the journal at once, the take's file when they are saved. */
export class Keeping {
  readonly #place: Place;
  readonly #onJournal: (state: JournalState) => void;
  readonly #refresh: NodeJS.Timeout;
  #journal: Journal;
  /** Fingerprint of the take as this program read or wrote it last. */
  #hash: string;
  #saving: Promise<void> = Promise.resolve();

  constructor(place: Place, onJournal: (state: JournalState) => void) {
    this.#place = place;
    this.#onJournal = onJournal;
    this.#hash = hashTake(place.text);
    this.#journal = this.#newJournal(null);
    this.#refresh = setInterval(() => place.lock.refresh(), REFRESH_MS);
    this.#refresh.unref();
  }

  #newJournal(resumeAt: number | null): Journal {
    return new Journal(journalPath(this.#place.path), this.#hash, resumeAt, this.#onJournal);
  }

  append(edit: Edit): void {
    this.#journal.append(edit);
  }

  /**
   * Goes on with the journal that was left, after so many bytes; null puts it aside and writes the edits anew.
   * @throws the error of the system when it can not be renamed
   */
  resume(bytes: number | null, edits: readonly Edit[]): void {
    if (bytes === null) setJournalAside(this.#place.path, new Date());
    this.#journal = this.#newJournal(bytes);
    if (bytes === null) for (const edit of edits) this.#journal.append(edit);
  }

  /**
   * Puts the journal that was left out of the way.
   * @returns its new name
   * @throws the error of the system when it can not be renamed
   */
  setAside(): string {
    const aside = setJournalAside(this.#place.path, new Date());
    this.#journal = this.#newJournal(null);
    return basename(aside);
  }

  /**
   * Writes the take; a second time waits for the first.
   * @param now  the take as it is at that moment
   * @param over  replaces also what another program wrote meanwhile
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
    this.#hash = hashTake(formatTake(take));
    this.#journal.restart(this.#hash, now().edits.length > take.edits.length);
    return take;
  }

  /** Forgets the changes that were not saved. */
  drop(): void {
    this.#journal.restart('', false);
  }

  /** Waits until all is on disk, or the disk has refused, and lets others have the take. */
  async close(): Promise<void> {
    clearInterval(this.#refresh);
    await this.#journal.close();
    this.#place.lock.release();
  }
}
