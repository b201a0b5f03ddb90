/** The parts of a terminal that a full screen needs. */
export interface Terminal {
  readonly stdin: NodeJS.ReadStream;
  readonly stdout: NodeJS.WriteStream;
}

// Control sequences of ECMA-48 and xterm: alternate screen, bracketed paste, clear, home, hide and show the cursor.
const ENTER = '\u001b[?1049h\u001b[?2004h\u001b[2J\u001b[H\u001b[?25l';
const MOUSE_ON = '\u001b[?1000h\u001b[?1006h';
const MOUSE_OFF = '\u001b[?1006l\u001b[?1000l';
const LEAVE = '\u001b[?1006l\u001b[?1000l\u001b[?2004l\u001b[?25h\u001b[?1049l';
const TO_LINE_END = '\u001b[K';
const CLEAR = '\u001b[2J\u001b[H';
/** Puts the cursor at the beginning of a row, from 0 (CUP). */
const toRow = (row: number) => `\u001b[${row + 1};1H`;

/** One row of the screen, and whether it reaches the right edge. */
export interface Row {
  readonly text: string;
  readonly isFull: boolean;
}

/** The alternate screen of a terminal, so that its previous content comes back at the end, however the program ends. */
export class FullScreen {
  readonly #terminal: Terminal;
  #entered = false;
  #hasMouse = false;
  /** Rows that are on the terminal now. */
  #rows: readonly string[] = [];
  readonly #leave = () => this.leave();

  constructor(terminal: Terminal) {
    this.#terminal = terminal;
  }

  /** Shows rows; from now on keys come one by one, without echo. */
  enter(rows: readonly Row[]): void {
    this.#entered = true;
    process.once('exit', this.#leave);
    this.#terminal.stdin.setRawMode(true);
    this.#terminal.stdout.write(ENTER);
    this.paint(rows);
  }

  /** Takes the terminal back after another program had it. */
  enterAgain(): void {
    // Node does nothing if it believes that raw mode is still on.
    this.#terminal.stdin.setRawMode(false);
    this.#terminal.stdin.setRawMode(true);
    this.#terminal.stdout.write(ENTER);
    this.#hasMouse = false;
    this.#rows = [];
  }

  /** Draws over what is there; unchanged rows are not sent again. */
  paint(rows: readonly Row[]): void {
    let text = '';
    rows.forEach(({ text: row, isFull }, i) => {
      // At the end of a full row the cursor is on its last character, which would be erased.
      if (row !== this.#rows[i]) text += toRow(i) + row + (isFull ? '' : TO_LINE_END);
    });
    for (let i = rows.length; i < this.#rows.length; i++) text += toRow(i) + TO_LINE_END;
    this.#rows = rows.map((row) => row.text);
    if (text !== '') this.#terminal.stdout.write(text);
  }

  /** Turns reports of clicks and the wheel on (xterm), or leaves the mouse to the terminal. */
  listenToMouse(on: boolean): void {
    if (on === this.#hasMouse) return;
    this.#hasMouse = on;
    this.#terminal.stdout.write(on ? MOUSE_ON : MOUSE_OFF);
  }

  /** Forgets what is shown, for example after a resize, so that everything is drawn again. */
  clear(): void {
    this.#rows = [];
    this.#terminal.stdout.write(CLEAR);
  }

  /** Leaves the terminal to the shell for a while. */
  suspend(): void {
    this.#terminal.stdout.write(LEAVE);
    this.#terminal.stdin.setRawMode(false);
  }

  leave(): void {
    if (!this.#entered) return;
    this.#entered = false;
    process.removeListener('exit', this.#leave);
    this.#terminal.stdout.write(LEAVE);
    try {
      this.#terminal.stdin.setRawMode(false);
    } catch {
      // The terminal has been closed.
    }
  }
}

/**
 * True when the locale says that text is UTF-8 (POSIX.1 XBD 8.2: LC_ALL before LC_CTYPE before LANG). The fonts of the
 * Linux console (console_codes(4)) have 512 characters at most, and no braille dots.
 */
export function hasUnicode(env: Readonly<Record<string, string | undefined>>, platform: string): boolean {
  if (env.TERM === 'linux') return false;
  if (platform === 'win32') return true;
  const locale = env.LC_ALL || env.LC_CTYPE || env.LANG || '';
  // macOS sets none in some terminals, and is always UTF-8.
  return locale === '' ? platform === 'darwin' : /utf-?8/i.test(locale);
}
