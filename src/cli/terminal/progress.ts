import { textColumns } from '../../text/width.ts';
import type { Io, Output } from './io.ts';
import { canRedraw, columnsOf } from './io.ts';
import { oneLine } from './message.ts';

/** Time between two updates: often enough to look alive, rarely enough to cost nothing. */
const REDRAW_MS = 100;
/** The time left is shown from here on; earlier estimates jump about. */
const GUESS_AFTER_MS = 1000;
const GUESS_AFTER_FRACTION = 0.05;

/** A line on the terminal that shows the progress of long work. */
export interface Progress {
  /** Starts another piece of work, such as the next file. */
  begin(label: string): void;
  /** @param fraction  of this stage, [0, 1] */
  report(stage: string, fraction: number): void;
  /** Shows the caller's own line, for several pieces of work at once. */
  show(text: string): void;
  /** Removes the line; call it before anything else is printed, and at the end. */
  clear(): void;
}

const SILENT: Progress = { begin() {}, report() {}, show() {}, clear() {} };

/** The time left, such as `40 s left` or `2 h 5 min left`. */
export function inWords(ms: number): string {
  const sec = Math.ceil(ms / 1000);
  if (sec < 60) return `${sec} s left`;
  const min = Math.floor(sec / 60);
  return min < 60 ? `${min} min ${sec % 60} s left` : `${Math.floor(min / 60)} h ${min % 60} min left`;
}

/** Cuts text to a width in columns, since a line that wraps can't be redrawn in place. */
function cut(text: string, columns: number): string {
  let kept = '';
  let width = 0;
  for (const character of text) {
    width += textColumns(character);
    if (width > columns) return kept;
    kept += character;
  }
  return kept;
}

class TerminalLine implements Progress {
  readonly #output: Output;
  readonly #stages: readonly string[];
  readonly #now: () => number;
  #label = '';
  #stage = '';
  #stageSince = 0;
  #drawnAt = Number.NEGATIVE_INFINITY;
  #visible = false;

  constructor(output: Output, stages: readonly string[], now: () => number) {
    this.#output = output;
    this.#stages = stages;
    this.#now = now;
  }

  begin(label: string): void {
    this.#label = oneLine(label);
    this.#stage = '';
  }

  report(stage: string, fraction: number): void {
    const now = this.#now();
    if (stage !== this.#stage) {
      this.#stage = stage;
      this.#stageSince = now;
    } else if (now - this.#drawnAt < REDRAW_MS) {
      return;
    }
    this.#drawnAt = now;
    const place = this.#stages.indexOf(stage);
    const counted = place < 0 ? stage : `${stage} (${place + 1} of ${this.#stages.length})`;
    const elapsedMs = now - this.#stageSince;
    const left =
      elapsedMs >= GUESS_AFTER_MS && fraction >= GUESS_AFTER_FRACTION
        ? `, ${inWords((elapsedMs * (1 - fraction)) / fraction)}`
        : '';
    this.#draw(`${this.#label}: ${counted} ${Math.round(100 * fraction)} %${left}`);
  }

  show(text: string): void {
    const now = this.#now();
    if (now - this.#drawnAt < REDRAW_MS) return;
    this.#drawnAt = now;
    this.#draw(oneLine(text));
  }

  #draw(text: string): void {
    // Carriage return, text, erase to the end of the line (ECMA-48 EL).
    this.#output.write(`\r${cut(text, columnsOf(this.#output) - 1)}\u001b[K`);
    this.#visible = true;
  }

  clear(): void {
    if (this.#visible) this.#output.write('\r\u001b[K');
    this.#visible = false;
  }
}

/**
 * Progress on standard error; silent if that is not a terminal, or `quiet` is set.
 * @param stages  names of all stages in order, to count them
 */
export function createProgress(
  io: Pick<Io, 'stderr' | 'env'>,
  options: { quiet: boolean; stages: readonly string[]; now?: () => number },
): Progress {
  if (options.quiet || !canRedraw(io.stderr, io.env)) return SILENT;
  return new TerminalLine(io.stderr, options.stages, options.now ?? (() => performance.now()));
}
