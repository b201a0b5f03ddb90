import { execFileSync, spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const BIN = fileURLToPath(new URL('../../bin/reedtrace.js', import.meta.url));

/** True when whole tasks can be driven in a real terminal. */
export const hasTmux = spawnSync('tmux', ['-V']).status === 0;
/** Part of the name of each test that needs tmux, so that a skipped one says why. */
export const NEEDS_TMUX = hasTmux ? '' : ' (skipped: tmux is not installed)';

/** How long the screen may take to show something before a test fails: long, as other programs may keep the machine busy. */
const PATIENCE_MS = 45_000;
let count = 0;

/** A program in a terminal of its own, driven by keys and read off its screen. */
export class Terminal {
  readonly #socket = `reedtrace-${process.pid}-${++count}`;
  /** Keys sent so far. */
  keystrokes = 0;

  /** Runs `reedtrace` with these arguments; the shell says `ended N` when it has ended with N. */
  constructor(
    args: readonly string[],
    size: { columns: number; rows: number },
    options: { cwd: string; env?: string },
  ) {
    const quoted = [process.execPath, BIN, ...args]
      .map((arg) => `'${arg.replaceAll("'", "'\\''")}'`)
      .join(' ');
    const command = `cd '${options.cwd}'; env -u CI -u CONTINUOUS_INTEGRATION -u NO_COLOR LANG=C.UTF-8 LC_ALL=C.UTF-8 ${options.env ?? ''} ${quoted}; echo "ended $?"; sleep 1000`;
    this.#tmux(
      '-f',
      '/dev/null',
      '-u',
      'new-session',
      '-d',
      '-x',
      String(size.columns),
      '-y',
      String(size.rows),
      command,
    );
  }

  #tmux(...args: string[]): string {
    return execFileSync('tmux', ['-L', this.#socket, ...args], {
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'ignore'],
    });
  }

  /** Sends keys by tmux's names (`Tab`, `Space`, `Enter`, `x`), one after another. */
  keys(...names: string[]): void {
    for (const name of names) {
      this.#tmux('send-keys', ...(name.length === 1 ? ['-l', name] : [name]));
      this.keystrokes++;
    }
  }

  /** Pastes a text, marked as such where the program asks for it. */
  paste(text: string): void {
    this.#tmux('set-buffer', text);
    this.#tmux('paste-buffer', '-p');
  }

  /** What is on the screen. */
  screen(): string {
    return this.#tmux('capture-pane', '-p');
  }

  resize(columns: number, rows: number): void {
    this.#tmux('resize-window', '-x', String(columns), '-y', String(rows));
  }

  /** Process id of the program, the child of the pane's shell. */
  pid(): number {
    const shell = this.#tmux('display-message', '-p', '#{pane_pid}').trim();
    return Number(execFileSync('pgrep', ['-P', shell], { encoding: 'utf8' }).trim().split('\n')[0]);
  }

  /** What state the terminal is in: whether the cursor, the other screen and the mouse are on, and lines are kept and echoed. */
  manners(): { cursor: boolean; otherScreen: boolean; mouse: boolean; lines: boolean; echo: boolean } {
    const [cursor, other, mouse, tty] = this.#tmux(
      'display-message',
      '-p',
      '#{cursor_flag} #{alternate_on} #{mouse_any_flag} #{pane_tty}',
    )
      .trim()
      .split(' ');
    const modes = execFileSync('stty', ['-a', '-F', tty], { encoding: 'utf8' }).split(/[\s;]+/);
    return {
      cursor: cursor === '1',
      otherScreen: other === '1',
      mouse: mouse === '1',
      lines: modes.includes('icanon'),
      echo: modes.includes('echo'),
    };
  }

  /** Sends bytes as a terminal would, such as a report of the mouse. */
  bytes(text: string): void {
    this.#tmux('send-keys', '-l', text);
  }

  /** Waits until the screen is as wanted, and returns it. */
  async until(wanted: string | RegExp | ((screen: string) => boolean)): Promise<string> {
    const fits = (screen: string) =>
      typeof wanted === 'string'
        ? screen.includes(wanted)
        : wanted instanceof RegExp
          ? wanted.test(screen)
          : wanted(screen);
    const end = Date.now() + PATIENCE_MS;
    for (;;) {
      const screen = this.screen();
      if (fits(screen)) return screen;
      if (Date.now() > end) throw new Error(`never on the screen: ${wanted}\n${screen}`);
      await new Promise((resolve) => setTimeout(resolve, 25));
    }
  }

  close(): void {
    spawnSync('tmux', ['-L', this.#socket, 'kill-server']);
  }
}
