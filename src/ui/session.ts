import { basename } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { findPlayer, Playback, playerAdvice } from '../audio/play.ts';
import { ReedtraceError } from '../errors.ts';
import type { CustomHarp } from '../harp/playable.ts';
import {
  hashTake,
  Journal,
  type JournalState,
  journalPath,
  loadJournal,
  readJournal,
  setJournalAside,
} from '../take/journal.ts';
import type { TakeLock } from '../take/lock.ts';
import { formatTake, type Take } from '../take/schema.ts';
import { writeTake } from '../take/store.ts';
import type { Snapshot, Source } from './App.tsx';
import type { Ears } from './ears.ts';
import { loadEars } from './recording.ts';
import { reduce, type UiEvent } from './reduce.ts';
import { play } from './sound.ts';
import { type Effect, openState, type Size, say, type UiState } from './state.ts';
import { type Contours, contourKey, windowOf } from './view/window.ts';

/** How a session ended. */
export interface Ending {
  /** Changes that wait in the journal. */
  readonly waiting: number;
}

/** Words are split by the rules of this one where it isn't clear which they are in. */
const USUAL_LANGUAGE = 'en';

/** A lock is refreshed this often. */
const REFRESH_MS = 10_000;

/** What a session works on. */
export interface SessionOptions {
  readonly path: string;
  readonly name: string;
  readonly take: Take;
  /** The text that the take was read from. */
  readonly text: string;
  readonly lock: TakeLock;
  readonly custom: CustomHarp;
  readonly env: Readonly<Record<string, string | undefined>>;
  readonly size: Size;
}

/** The slowest keys, each often enough for the compiler to notice. */
const WARM_UP_KEYS = ['5', ' ', 's', '5', ' ', 'x', '5', ' '];
const WARM_UP_PAUSE_MS = 15;

/** What was just shown is drawn by then: ink draws 30 times a second at most. */
const DRAWN_MS = 40;

/** One sitting of a player with a take: the state of the screen, and all that happens outside of it. */
export class Session implements Source {
  readonly #options: SessionOptions;
  readonly #listeners = new Set<() => void>();
  readonly #playback: Playback | null;
  readonly #contours = new Map<string, ReturnType<Ears['contour']>>();
  #snapshot: Snapshot;
  #journal: Journal;
  #ended: (ending: Ending) => void = () => {};
  #refresh: NodeJS.Timeout;
  #measuring = false;
  #saving: Promise<void> = Promise.resolve();
  readonly ended: Promise<Ending>;

  private constructor(options: SessionOptions, state: UiState, playback: Playback | null) {
    this.#options = options;
    this.#playback = playback;
    this.#snapshot = { state, contours: this.#contours };
    this.#journal = this.#newJournal(null);
    this.#refresh = setInterval(() => options.lock.refresh(), REFRESH_MS);
    this.#refresh.unref();
    this.ended = new Promise((resolve) => {
      this.#ended = resolve;
    });
  }

  /** Opens a session; changes that were left in the journal are offered. */
  static async open(options: SessionOptions): Promise<Session> {
    const { take, text, path, name, custom, env, size } = options;
    const found = findPlayer(env, process.platform);
    const recovery = readJournal(await loadJournal(path), take, hashTake(text));
    let state = openState(name, take, custom, found !== null, size);
    if (recovery.kind !== 'nothing') state = { ...state, mode: { kind: 'recover', recovery } };
    else if (found === null) state = say(state, playerAdvice(process.platform));
    return new Session(options, state, found === null ? null : new Playback(found));
  }

  subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  snapshot = (): Snapshot => this.#snapshot;

  press(key: string): void {
    this.dispatch({ kind: 'key', key, at: new Date().toISOString() });
  }

  resize(size: Size): void {
    this.dispatch({ kind: 'resize', size });
  }

  dispatch(event: UiEvent): void {
    const { state, effects } = reduce(this.#snapshot.state, event);
    if (state !== this.#snapshot.state) this.#show({ ...this.#snapshot, state });
    for (const effect of effects) this.#run(effect);
    this.#measureSoon();
  }

  #show(snapshot: Snapshot): void {
    this.#snapshot = snapshot;
    for (const listener of this.#listeners) listener();
  }

  /** Reads the recording beside the take; to be called once the screen is there. */
  async listen(): Promise<void> {
    const { path, take } = this.#options;
    const { recording, ears } = await loadEars(path, take.source);
    this.dispatch({ kind: 'recording', recording, ears });
  }

  /** Changes notes and forgets it, a key at a time, so that the player's first changes find the code compiled. */
  async warmUp(): Promise<void> {
    for (const key of WARM_UP_KEYS) {
      const { state } = this.#snapshot;
      reduce({ ...state, mode: { kind: 'notes' } }, { kind: 'key', key, at: '' });
      // A key of the player's comes in between.
      await setTimeout(WARM_UP_PAUSE_MS, undefined, { ref: false });
    }
  }

  /** Ends without being asked: what is not saved waits in the journal. */
  async abandon(): Promise<void> {
    this.#readNotes();
    await this.#end(true);
  }

  #newJournal(resumeAt: number | null): Journal {
    const { path, text } = this.#options;
    const tell = (journal: JournalState) => this.dispatch({ kind: 'journal', journal });
    return new Journal(journalPath(path), hashTake(text), resumeAt, tell);
  }

  #setAside(): void {
    try {
      const aside = setJournalAside(this.#options.path, new Date());
      this.dispatch({ kind: 'set-aside', name: basename(aside) });
    } catch (error) {
      this.dispatch({ kind: 'failed', text: `could not be put aside (${(error as Error).message})` });
    }
  }

  #run(effect: Effect): void {
    switch (effect.kind) {
      case 'journal':
        this.#journal.append(effect.edit);
        return;
      case 'resume':
        this.#journal = this.#newJournal(effect.bytes);
        return;
      case 'read-notes':
        setTimeout(DRAWN_MS, undefined, { ref: false }).then(() => this.#readNotes());
        return;
      case 'set-aside':
        this.#setAside();
        return;
      case 'save':
        this.#save(effect.thenQuit);
        return;
      case 'quit':
        void this.#end(effect.journal === 'keep');
        return;
      case 'stop':
        this.#playback?.stop();
        return;
      case 'play':
        // Drawn first: a long excerpt takes a moment to be written out.
        setImmediate(() => this.#play(effect));
        return;
      case 'split-words':
        void this.#splitWords(effect.text, effect.language);
    }
  }

  #readNotes(): void {
    this.dispatch({ kind: 'read-notes', at: new Date().toISOString() });
  }

  #play(effect: Effect & { kind: 'play' }): void {
    const { state } = this.#snapshot;
    if (this.#playback === null || state.playing === null) return;
    play(this.#playback, state, effect, (failure) => this.dispatch({ kind: 'played', failure }));
  }

  /** Saves one after another: a second save waits for the first. */
  #save(thenQuit: boolean): void {
    this.#saving = this.#saving.then(() => this.#saveNow(thenQuit));
  }

  async #saveNow(thenQuit: boolean): Promise<void> {
    const { take } = this.#snapshot.state.edited;
    try {
      await writeTake(this.#options.path, take, { force: true });
    } catch (error) {
      const text =
        error instanceof ReedtraceError
          ? error.message.replace(this.#options.path, this.#options.name)
          : String(error);
      this.dispatch({ kind: 'failed', text: `not saved: ${text}` });
      return;
    }
    const { edits } = this.#snapshot.state.edited.take;
    this.#journal.restart(hashTake(formatTake(take)), edits.length > take.edits.length);
    this.dispatch({ kind: 'saved', edits: take.edits.length });
    if (thenQuit) await this.#end(true);
  }

  async #end(keep: boolean): Promise<void> {
    clearInterval(this.#refresh);
    this.#playback?.close();
    const { state } = this.#snapshot;
    const waiting = keep ? state.edited.take.edits.length - state.savedEdits : 0;
    if (!keep) this.#journal.restart('', false);
    await this.#journal.close();
    this.#options.lock.release();
    this.#ended({ waiting });
  }

  async #splitWords(of: string, language: string | null): Promise<void> {
    const [{ loadLanguage }, { splitWord }, { guessLanguage }] = await Promise.all([
      import('../music/words/languages.ts'),
      import('../music/words/syllables.ts'),
      import('../music/words/guess-language.ts'),
    ]);
    const rules = await loadLanguage(language ?? guessLanguage(of) ?? USUAL_LANGUAGE);
    const text = of.replace(/[^\s_*~]+/gu, (word) => splitWord(word, rules).join('-'));
    this.dispatch({ kind: 'words-split', of, text, language: rules.code, at: new Date().toISOString() });
  }

  /** Measures the contour of what is seen, a note at a time, so that keys are never kept waiting. */
  #measureSoon(): void {
    if (this.#measuring || this.#snapshot.state.ears === null) return;
    this.#measuring = true;
    setImmediate(() => {
      this.#measuring = false;
      const { state } = this.#snapshot;
      if (state.ears === null || state.ranges.length === 0) return;
      const next = windowOf(state, state.size.columns).notes.find(
        (note) => !this.#contours.has(contourKey(note)),
      );
      if (next === undefined) return;
      this.#contours.set(contourKey(next), state.ears.contour(next));
      this.#show({ ...this.#snapshot, contours: new Map(this.#contours) as Contours });
      this.#measureSoon();
    });
  }
}
