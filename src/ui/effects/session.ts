import { basename } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { Worker } from 'node:worker_threads';
import { ReedtraceError } from '../../errors.ts';
import type { CustomHarp } from '../../harp/types.ts';
import { findPlayer, Playback, playerAdvice } from '../../sound/play.ts';
import { hashTake, setJournalAside } from '../../take/files/journal.ts';
import { loadJournal, readJournal } from '../../take/files/recovery.ts';
import type { Take } from '../../take/schema.ts';
import { moduleBeside } from '../../threads/module-beside.ts';
import { reduce } from '../commands/reduce.ts';
import type { Ears } from '../state/ears.ts';
import type { UiEvent } from '../state/event.ts';
import type { Hearing } from '../state/hearing.ts';
import { type Effect, openState, type Size, say, type UiState, unsavedCount } from '../state/state.ts';
import { Keeping, type Place } from './keeping.ts';
import { Playhead } from './playhead.ts';
import { ReadingAhead } from './reading-ahead.ts';
import { loadEars } from './recording.ts';
import { play } from './sound.ts';
import { splitWords } from './split-words.ts';

/** How a session ended. */
export interface Ending {
  /** Changes that wait in the journal. */
  readonly waiting: number;
}

/** What a session works on. */
export interface SessionOptions extends Place {
  readonly name: string;
  readonly take: Take;
  /** Where the recording is, if not next to the take under its own name. */
  readonly recording?: string;
  readonly custom: CustomHarp;
  readonly env: Readonly<Record<string, string | undefined>>;
  readonly size: Size;
}

/** After this time, what was just drawn is on the terminal. */
const DRAWN_MS = 20;

/** What is typed is in the journal after this time; the promise is one second. */
const KEEP_TYPED_MS = 500;

const READ_ONLY = 'nothing can be written in the folder of this take: it is open read-only';

const HEARING_THREAD = moduleBeside(import.meta.url, 'hearing-thread');
const NOT_HEARD = 'the recording could not be analysed again: pitches are those of the notes alone';

/** A player's session with a take: the state of the screen, and its effects outside. */
export class Session {
  readonly #options: SessionOptions;
  readonly #listeners = new Set<() => void>();
  readonly #playback: Playback | null;
  readonly #keeping: Keeping;
  readonly #head = new Playhead((sec) => this.dispatch({ kind: 'playhead', sec }));
  readonly #ahead = new ReadingAhead((ahead) => this.dispatch({ kind: 'read-ahead', ahead }));
  #state: UiState;
  #thread: Worker | null = null;
  #typed: NodeJS.Timeout | null = null;
  #isEnding = false;
  #ended: (ending: Ending) => void = () => {};
  readonly ended: Promise<Ending>;

  private constructor(options: SessionOptions, state: UiState, playback: Playback | null) {
    this.#options = options;
    this.#playback = playback;
    this.#state = state;
    this.#keeping = new Keeping(options, (journal) => this.dispatch({ kind: 'journal', journal }));
    this.ended = new Promise((resolve) => {
      this.#ended = resolve;
    });
  }

  /** Opens a session; changes that were left in the journal are offered. */
  static async open(options: SessionOptions): Promise<Session> {
    const { take, text, path, name, lock, custom, env, size } = options;
    const found = findPlayer(env, process.platform);
    const recovery = readJournal(await loadJournal(path), take, hashTake(text));
    let state = openState(name, take, custom, found !== null, size);
    if (lock === null) state = { ...say(state, READ_ONLY), isReadOnly: true };
    if (recovery.kind === 'unreadable' && lock !== null) {
      const aside = basename(setJournalAside(path, new Date()));
      state = say(state, `the journal can't be read (${recovery.why}): put aside as '${aside}'`, 'alert');
    } else if (recovery.kind === 'edits' || recovery.kind === 'foreign')
      state = { ...state, mode: { kind: 'recover', recovery } };
    else if (found === null) state = say(state, playerAdvice(process.platform));
    return new Session(options, state, found === null ? null : new Playback(found));
  }

  subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  /** All that the screen shows; a new object whenever something changed. */
  get state(): UiState {
    return this.#state;
  }

  press(key: string): void {
    this.dispatch({ kind: 'key', key, at: now() });
  }

  resize(size: Size): void {
    this.dispatch({ kind: 'resize', size });
  }

  dispatch(event: UiEvent): void {
    const { state, effects } = reduce(this.#state, event);
    const isNew = state !== this.#state;
    this.#state = state;
    if (isNew) for (const listener of this.#listeners) listener();
    for (const effect of effects) this.#run(effect);
    this.#keepTyped();
  }

  /** Makes sure that words are in the journal within a second of being typed. */
  #keepTyped(): void {
    const { mode } = this.#state;
    if (this.#typed !== null || mode.kind !== 'words' || mode.text === mode.kept) return;
    this.#typed = setTimeout(() => {
      this.#typed = null;
      this.dispatch({ kind: 'keep-typed', at: now() });
    }, KEEP_TYPED_MS);
  }

  /** Reads the recording of the take; call it once the screen is shown. */
  async listen(): Promise<void> {
    const { path, take, recording: given } = this.#options;
    const { recording, ears } = await loadEars(path, take.source, given);
    this.dispatch({ kind: 'recording', recording, ears });
    if (ears !== null) this.#hear(ears);
  }

  /** Hears the recording in another thread, so that keys are answered meanwhile. */
  #hear(ears: Ears): void {
    this.#thread = new Worker(HEARING_THREAD, { workerData: ears.samples.handle() });
    this.#thread.on('message', (hearing: Hearing) => this.dispatch({ kind: 'hearing', hearing }));
    // Without it, only what is in the take is shown.
    this.#thread.on('error', () => this.dispatch({ kind: 'failed', text: NOT_HEARD }));
  }

  /** Ends the session from outside: unsaved changes, and the line being typed, stay in the journal. */
  async abandon(): Promise<void> {
    this.#readNotes();
    if (this.#state.mode.kind === 'words') this.press('enter');
    await this.#end(true);
  }

  #run(effect: Effect): void {
    switch (effect.kind) {
      case 'journal':
        this.#keeping.append(effect.edit);
        return;
      case 'resume':
        this.#resume(effect);
        return;
      case 'read-notes':
        wait(DRAWN_MS, undefined, { ref: false }).then(() => this.#ahead.whenRead(() => this.#readNotes()));
        return;
      case 'read-ahead':
        this.#ahead.ask(effect.take, effect.harp, this.#options.custom);
        return;
      case 'set-aside':
        this.#setAside();
        return;
      case 'save':
        void this.#save(effect);
        return;
      case 'save-elsewhere':
        void this.#saveElsewhere(effect);
        return;
      case 'adopt':
        this.#adopt(effect);
        return;
      case 'quit':
        void this.#end(effect.journal === 'keep');
        return;
      case 'stop':
        this.#playback?.stop();
        this.#head.stop();
        return;
      case 'play':
        this.#play(effect);
        return;
      case 'split-words':
        void this.#splitWords(effect.text, effect.language);
    }
  }

  #readNotes(): void {
    this.dispatch({ kind: 'read-notes', at: now() });
  }

  #play(effect: Effect & { kind: 'play' }): void {
    if (this.#playback === null) return;
    const { fromSec, stretch } = effect;
    this.#head.stop();
    play(this.#playback, this.#state, effect, {
      onStart: () => this.#head.start(fromSec, 1 / stretch),
      onEnd: (failure) => {
        this.#head.stop();
        this.dispatch({ kind: 'played', failure });
      },
    });
  }

  #resume({ bytes, edits }: Effect & { kind: 'resume' }): void {
    try {
      this.#keeping.resume(bytes, edits);
    } catch (error) {
      this.dispatch({
        kind: 'failed',
        text: `the journal could not be put aside (${(error as Error).message})`,
      });
    }
  }

  #setAside(): void {
    try {
      this.dispatch({ kind: 'set-aside', name: this.#keeping.setAside() });
    } catch (error) {
      this.dispatch({ kind: 'failed', text: `could not be put aside (${(error as Error).message})` });
    }
  }

  async #save({ thenQuit, over = false }: Effect & { kind: 'save' }): Promise<void> {
    let saved: Take;
    try {
      const elsewhere = over ? null : await this.#keeping.lookElsewhere(this.#state.edited.take);
      if (elsewhere !== null) {
        this.dispatch({ kind: 'conflict', ...elsewhere });
        return;
      }
      saved = await this.#keeping.save(() => this.#state.edited.take, over);
    } catch (error) {
      const { path, name } = this.#options;
      const text = error instanceof ReedtraceError ? error.message.replace(path, name) : String(error);
      this.dispatch({ kind: 'failed', text: `not saved: ${text}` });
      return;
    }
    this.dispatch({ kind: 'saved', edits: saved.edits.length });
    if (thenQuit) await this.#end(true);
  }

  #adopt({ theirs, edits, isSafe }: Effect & { kind: 'adopt' }): void {
    try {
      this.#keeping.adopt(theirs.text, edits, isSafe);
    } catch (error) {
      const text = `the journal could not be put aside (${(error as Error).message})`;
      this.dispatch({ kind: 'failed', text });
    }
  }

  async #saveElsewhere({ take, theirs }: Effect & { kind: 'save-elsewhere' }): Promise<void> {
    try {
      const name = await this.#keeping.saveElsewhere(take);
      this.dispatch({ kind: 'saved-elsewhere', name, theirs });
    } catch (error) {
      this.dispatch({ kind: 'failed', text: `not saved: ${(error as Error).message}` });
    }
  }

  async #end(keep: boolean): Promise<void> {
    if (this.#isEnding) return;
    this.#isEnding = true;
    this.#playback?.close();
    this.#head.stop();
    if (this.#typed !== null) clearTimeout(this.#typed);
    void this.#thread?.terminate();
    this.#ahead.close();
    const waiting = keep ? unsavedCount(this.#state) : 0;
    if (!keep) this.#keeping.drop();
    await this.#keeping.close();
    this.#ended({ waiting });
  }

  async #splitWords(of: string, language: string | null): Promise<void> {
    const { text, code } = await splitWords(of, language);
    this.dispatch({ kind: 'words-split', of, text, language: code, at: now() });
  }
}

const now = (): string => new Date().toISOString();
