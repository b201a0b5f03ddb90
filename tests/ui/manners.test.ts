import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { canMount, mountSmallDisk } from '../full-disk.ts';
import { notesOf, writeExample } from './example-take.ts';
import { hasTmux, NEEDS_TMUX, Terminal } from './tmux.ts';

let dir: string;
let terminal: Terminal | null = null;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-manners-'));
});
afterEach(() => {
  terminal?.close();
  terminal = null;
  rmSync(dir, { recursive: true, force: true });
});

function open(path = 'tune.take.json'): Terminal {
  terminal = new Terminal(['correct', path], { columns: 80, rows: 24 }, { cwd: dir });
  return terminal;
}

/** As a shell wants a terminal. */
const AS_IT_WAS = { cursor: true, otherScreen: false, mouse: false, lines: true, echo: true };
/** As the screen has it. */
const TAKEN = { cursor: false, otherScreen: true, mouse: true, lines: false, echo: false };

describe.skipIf(!hasTmux)(`the terminal${NEEDS_TMUX}`, () => {
  it.each(['SIGINT', 'SIGQUIT', 'SIGTERM', 'SIGHUP'] as const)(
    'is restored after %s, and changes stay in the journal',
    async (signal) => {
      writeExample(dir, notesOf(['4 -4 5']), null);
      const screen = open();
      await screen.until('1 of 3');
      screen.keys('x');
      await screen.until('1 not saved');
      expect(screen.manners()).toEqual(TAKEN);
      process.kill(screen.pid(), signal);
      await screen.until('ended');
      expect(screen.screen()).toContain('1 change waits in');
      expect(screen.manners()).toEqual(AS_IT_WAS);
      expect(readFileSync(join(dir, 'tune.take.json.journal'), 'utf8').trim().split('\n')).toHaveLength(2);
    },
  );

  it('is restored after Ctrl-C, which asks first if something is not saved', async () => {
    writeExample(dir, notesOf(['4 -4 5']), null);
    const screen = open();
    await screen.until('1 of 3');
    screen.keys('x', 'C-c');
    await screen.until('1 change is not saved');
    screen.keys('C-c');
    await screen.until('note 1 of 2');
    screen.keys('u', 'C-c');
    await screen.until('ended 0');
    expect(screen.manners()).toEqual(AS_IT_WAS);
  });

  it('is restored whenever the program is stopped, and taken over again when it continues', async () => {
    writeExample(dir, notesOf(['4 -4 5']), null);
    const screen = open();
    await screen.until('1 of 3');
    const pid = screen.pid();
    for (const note of [2, 3]) {
      process.kill(pid, 'SIGTSTP');
      await screen.until((text) => !text.includes(`of 3`));
      expect(screen.manners()).toEqual(AS_IT_WAS);
      process.kill(pid, 'SIGCONT');
      await screen.until(`note ${note - 1} of 3`);
      screen.keys('Right');
      await screen.until(`note ${note} of 3`);
      expect(screen.manners()).toEqual(TAKEN);
    }
  });
});

describe.skipIf(!hasTmux)(`the mouse${NEEDS_TMUX}`, () => {
  it('goes to the clicked note, scrolls by phrase, and is never taken for keys', async () => {
    writeExample(dir, notesOf(['4 -4 5 6', '6 -6 7 8']), null);
    const screen = open();
    await screen.until('1 of 8');
    // Columns and rows of reports are from 1 (xterm, SGR 1006); the first row of tab is the third.
    const column = (screen.screen().split('\n')[2] ?? '').indexOf(' 5 ') + 2;
    screen.bytes(`\u001b[<0;${column};3M\u001b[<0;${column};3m`);
    await screen.until('note 3 of 8');
    screen.bytes('\u001b[<65;10;3M');
    await screen.until('note 5 of 8');
    // Drags, other buttons, and reports of the old kind, with bytes in them that are keys.
    screen.bytes('\u001b[<32;5;5M\u001b[<2;5;5M\u001b[<35;7;9m');
    screen.bytes('\u001b[Mx5q');
    screen.keys('Right');
    const text = await screen.until('note 6 of 8');
    expect(text.split('\n')[0]).toMatch(/ {2}saved$/);
    screen.keys('M');
    await screen.until('the mouse is left to the terminal');
    expect(screen.manners().mouse).toBe(false);
  });
});

describe.skipIf(!hasTmux || !canMount())(`a folder where nothing may be written${NEEDS_TMUX}`, () => {
  it('opens a read-only take: everything can be seen, nothing changed', async () => {
    const disk = mountSmallDisk(2 * 1024 * 1024);
    try {
      writeExample(disk.folder, notesOf(['4 -4 5', '6 -6 7']), null);
      const before = readdirSync(disk.folder);
      disk.makeReadOnly();
      // Not from within it: what a shell stands in can't be unmounted.
      const screen = open(join(disk.folder, 'tune.take.json'));
      await screen.until('nothing can be written in the folder of this take: it is open read-only');
      expect(screen.screen().split('\n')[0]).toMatch(/read-only$/);
      screen.keys('Down');
      await screen.until('note 4 of 6');
      screen.keys('x');
      await screen.until('it is open read-only: to change it, copy the take');
      screen.keys('q');
      await screen.until('ended 0');
      expect(readdirSync(disk.folder)).toEqual(before);
    } finally {
      terminal?.close();
      disk.remove();
    }
  });
});
