import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { formatTabNote } from '../../src/tab/text.ts';
import { formatTake } from '../../src/take/format.ts';
import { parseTake } from '../../src/take/parse.ts';
import type { Take } from '../../src/take/schema.ts';
import { notesOf, writeExample } from './example-take.ts';
import { CURES, joinedPhrases, PHRASE_STARTS, PLAYED, withHiddenMistakes, withMistakes } from './mistakes.ts';
import { hasTmux, NEEDS_TMUX, Terminal } from './tmux.ts';

let dir: string;
let terminal: Terminal | null = null;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-ui-'));
});
afterEach(() => {
  terminal?.close();
  terminal = null;
  rmSync(dir, { recursive: true, force: true });
});

function open(args: readonly string[] = ['correct', 'tune.take.json'], env = ''): Terminal {
  terminal = new Terminal(args, { columns: 80, rows: 24 }, { cwd: dir, env });
  return terminal;
}
const saved = (): Take => parseTake(readFileSync(join(dir, 'tune.take.json'), 'utf8'), 'tune.take.json');
const tabOf = (notes: readonly Take['notes'][number][]) => notes.map((note) => formatTabNote(note)).join(' ');
const journal = () => readFileSync(join(dir, 'tune.take.json.journal'), 'utf8');
const LISTENING = (text: string) => text.includes('note 1 of') && !text.includes('reading the recording');

describe.skipIf(!hasTmux)(`a player at the screen${NEEDS_TMUX}`, () => {
  it('finds and corrects thirteen mistakes, none of which was marked as doubtful', async () => {
    const notes = withHiddenMistakes();
    writeExample(dir, notes, PLAYED, joinedPhrases(notes));
    const screen = open();
    // All but the phrase break and the three 2 draws that were read as 3 blow, which is the same pitch.
    await screen.until('9 to check');
    for (const { says, keys } of CURES) {
      // What the screen says of a mistake comes with the first of its keys, or with the last.
      const [first, ...others] = keys;
      screen.keys(first);
      if (first === 'Tab') await screen.until(`: ${says}`);
      screen.keys(...others);
      if (first === 'Tab') await screen.until((text) => !text.includes(`: ${says}`));
      else if (first !== 'C-s') await screen.until(says);
    }
    await screen.until((text) => text.split('\n')[0].endsWith('  saved'));
    const { keystrokes } = screen;
    screen.keys('q');
    await screen.until('ended 0');

    const take = saved();
    expect(tabOf(take.notes)).toBe(tabOf(PLAYED as Take['notes']));
    take.notes.forEach((note, i) => {
      expect(Math.abs(note.onsetSec - PLAYED[i].onsetSec), `onset of note ${i + 1}`).toBeLessThan(0.055);
      expect(Math.abs(note.midi - PLAYED[i].midi), `pitch of note ${i + 1}`).toBeLessThan(0.1);
    });
    expect(readdirSync(dir).sort()).toEqual(['tune.take.json', 'tune.wav']);
    // What README says.
    expect(keystrokes).toBe(26);
    expect(take.phrases.map(({ firstNote }) => firstNote)).toEqual(PHRASE_STARTS);
  });

  it('undoes on another day what was saved today', async () => {
    const { take } = writeExample(dir, notesOf(['4 -4 5', '6 -6 7']), null);
    let screen = open();
    await screen.until('1 of 6');
    screen.keys('2', 'Right', 'x');
    await screen.until('2 not saved');
    screen.keys('q');
    await screen.until('2 changes are not saved');
    screen.keys('Enter');
    await screen.until('ended 0');
    expect(tabOf(saved().notes)).toBe('-2 5 6 -6 7');
    screen.close();
    screen = open();
    await screen.until('1 of 5');
    screen.keys('u', 'u');
    await screen.until('2 not saved');
    screen.keys('C-s');
    await screen.until((text) => text.split('\n')[0].endsWith('  saved'));
    expect(saved().notes).toEqual(take.notes);
    expect(saved().edits.map(({ what }) => what)).toEqual(['read', 'delete', 'undo', 'undo']);
    screen.keys('r', 'q');
    await screen.until('1 change is not saved');
    screen.keys(...'discard', 'Enter');
    await screen.until('ended 0');
    expect(saved().notes).toEqual(take.notes);
  });

  it('offers to restore unsaved changes after a kill', async () => {
    writeExample(dir, notesOf(['4 -4 5', '6 -6 7']), null);
    let screen = open();
    await screen.until('1 of 6');
    screen.keys('x', 'x');
    // The head and two edits: on disk within a second.
    await vi.waitFor(() => expect(journal().split('\n')).toHaveLength(4));
    process.kill(screen.pid(), 'SIGKILL');
    await screen.until('ended 137');
    screen.close();
    screen = open();
    await screen.until('2 changes were not saved last time');
    screen.keys('Enter');
    await screen.until('2 changes are back, not saved yet');
    screen.keys('q', 'k');
    await screen.until('2 changes wait in');
    screen.close();
    screen = open();
    await screen.until('2 changes were not saved last time');
    screen.keys('d');
    await screen.until('put aside as');
    await screen.until('1 of 6');
    screen.keys('q');
    await screen.until('ended 0');
    expect(readdirSync(dir).filter((name) => name.includes('.journal.'))).toHaveLength(1);
    expect(existsSync(join(dir, 'tune.take.json.journal'))).toBe(false);
  });

  it('warns a second program, and lets it in once the first has ended', async () => {
    writeExample(dir, notesOf(['4 -4 5']), null);
    const first = open();
    await first.until('1 of 3');
    const second = open();
    expect(await second.until('ended 5')).toMatch(
      /error: 'tune\.take\.json' is open for correcting in another\s+program/,
    );
    second.close();
    first.keys('q');
    await first.until('ended 0');
    first.close();
    const third = open();
    await third.until('1 of 3');
  });

  it('does not overwrite what another program has written in the meantime', async () => {
    const { path, take } = writeExample(dir, notesOf(['4 -4 5', '6 -6 7']), null);
    const change = (hole: number, at: number) => {
      const notes = take.notes.map((note, i) => (i === at ? { ...note, hole } : note));
      writeFileSync(path, formatTake({ ...take, notes }));
    };
    const screen = open();
    await screen.until('1 of 6');
    screen.keys('2');
    await screen.until('1 not saved');
    change(9, 5);
    screen.keys('C-s');
    await screen.until("Another program has changed 'tune.take.json'");
    screen.keys('m');
    await screen.until('your changes are in theirs now');
    screen.keys('C-s');
    await screen.until((text) => text.split('\n')[0].endsWith('  saved'));
    expect(tabOf(saved().notes)).toBe('-2 -4 5 6 -6 9');
    // The same note by both: theirs stays here, and one's own goes to another file.
    screen.keys('3');
    await screen.until('1 not saved');
    change(8, 0);
    screen.keys('C-s');
    await screen.until('Both of you changed the same notes or parts.');
    screen.keys('f');
    await screen.until("your changes are in 'tune.mine.take.json'");
    expect(tabOf(saved().notes)).toBe('8 -4 5 6 -6 7');
    const mine = parseTake(readFileSync(join(dir, 'tune.mine.take.json'), 'utf8'), 'mine');
    expect(tabOf(mine.notes)).toBe('3o -4 5 6 -6 9');
    screen.keys('x');
    await screen.until('1 not saved');
    rmSync(path);
    screen.keys('C-s');
    await screen.until("'tune.take.json' was deleted");
    screen.keys('w');
    await screen.until((text) => text.split('\n')[0].endsWith('  saved'));
    expect(tabOf(saved().notes)).toBe('-4 5 6 -6 7');
  });

  it('lays pasted words under notes, syllables split on request', async () => {
    writeExample(dir, notesOf(['4 -4 5 6 -6 6', '5 4 -4']), null);
    const screen = open();
    await screen.until('1 of 9');
    screen.keys('w');
    await screen.until('Words under this phrase');
    screen.paste('Susanna, 日本 don’t cry now');
    await screen.until('5 notes sung');
    screen.keys('Tab');
    await screen.until('6 notes sung  1 without a note');
    // The seventh goes on under the next phrase when asked; columns are kept though 日本 is four wide.
    screen.keys('C-r');
    await screen.until('> now');
    screen.keys('Enter');
    expect(await screen.until(/\n verse 1 {2}Su-.*\n.*\n verse 1 {2}now/)).toMatch(
      / 4 {4}-4 {4}5 {4}6 {5}-6 {5}6 *\n verse 1 {2}Su- {2}san- {2}na, {2}日本 {2}don’t {2}cry/,
    );
    await screen.until(/[1-9] not saved/);
    screen.keys('C-s');
    await screen.until((text) => text.split('\n')[0].endsWith('  saved'));
    expect(saved().words.map(({ text, noteId }) => `${noteId} ${text}`)).toEqual([
      'n1 Su',
      'n2 san',
      'n3 na,',
      'n4 日本',
      'n5 don’t',
      'n6 cry',
      'n7 now',
    ]);
  });

  it('reads all notes again on another harp', async () => {
    writeExample(dir, notesOf(['4 -4 5']), null);
    const screen = open();
    await screen.until('1 of 3');
    screen.keys('h');
    await screen.until('Which harp was it?');
    screen.keys('Left', 'Left', 'Left', 'Left', 'Left', 'Enter');
    await screen.until('read again on the G harp: 3 of 3 notes changed');
    // C5 D5 E5 on G (blow G3 B3 D4 G4 B4 D5, draw … C5 = 5, E5 = 6: Richter offsets of OEIS A291810).
    await screen.until(/ \[-5\]? .*6 .*-6/);
  });

  it('ignores keys that were typed while the recording was transcribed', async () => {
    writeExample(dir, notesOf(['4 -4 5', '6 -6 7']));
    rmSync(join(dir, 'tune.take.json'));
    const screen = open(['correct', 'tune.wav']);
    screen.keys('x', 'Right', 'Enter', 'x');
    await screen.until('note 1 of');
    screen.keys('Right');
    const text = await screen.until('note 2 of');
    expect(text.split('\n')[0]).toMatch(/ {2}saved$/);
  });

  it('restores the terminal and keeps the changes when a signal ends it', async () => {
    writeExample(dir, notesOf(['4 -4 5']), null);
    const screen = open();
    await screen.until('1 of 3');
    screen.keys('x');
    await screen.until('1 not saved');
    process.kill(screen.pid(), 'SIGTERM');
    // As by Ctrl-C: 130.
    const left = await screen.until('ended 130');
    expect(left).not.toContain('Tab next to check');
    expect(left).toContain('1 change waits in');
    screen.close();
    const again = open();
    await again.until('1 change was not saved');
    again.keys('Enter');
    await again.until('1 change is back');
    again.keys('w');
    await again.until('Words under this phrase');
    again.keys('l', 'a');
    await again.until('1 note sung');
    process.kill(again.pid(), 'SIGHUP');
    await again.until('2 changes wait in');
  });

  it.each([
    [60, 20],
    [80, 24],
    [120, 40],
    [200, 60],
  ])('shows the screen that was reviewed by eye, at %i × %i', async (columns, rows) => {
    writeExample(dir, withMistakes(), PLAYED);
    terminal = new Terminal(['correct', 'tune.take.json'], { columns, rows }, { cwd: dir });
    await terminal.until('13 to check');
    terminal.keys('Tab', 'Tab');
    const golden = readFileSync(
      new URL(`view/golden/screen-${columns}x${rows}.txt`, import.meta.url),
      'utf8',
    );
    // The last row of the terminal stays free.
    await terminal.until((text) => text.trimEnd() === golden.trimEnd());
  });

  it('works line by line on a terminal that can only print', async () => {
    writeExample(dir, notesOf(['4 -4 5', '6 -6 7']), null);
    const screen = open(undefined, 'TERM=dumb');
    await screen.until('Keys are typed as a line and Enter');
    const type = (line: string) => screen.keys(...[...line].map((c) => (c === ' ' ? 'Space' : c)), 'Enter');
    type('right 2');
    await screen.until('note 2 of 6');
    await screen.until('1 not saved');
    type('save');
    await screen.until(/> save[\s\S]*\nsaved\n/);
    type('quit');
    await screen.until('ended 0');
    expect(tabOf(saved().notes)).toMatch(/^4 -?2\S* 5 6 -6 7$/);
  });

  it('restores the terminal while it is stopped, and takes it over again when it continues', async () => {
    writeExample(dir, notesOf(['4 -4 5']), null);
    const screen = open();
    await screen.until('1 of 3');
    const pid = screen.pid();
    process.kill(pid, 'SIGTSTP');
    await screen.until((text) => !text.includes('note 1 of 3'));
    process.kill(pid, 'SIGCONT');
    await screen.until('note 1 of 3');
    screen.keys('Right');
    await screen.until('note 2 of 3');
    for (const [signal, ends] of [['SIGQUIT', 'ended 0']] as const) {
      process.kill(pid, signal);
      expect(await screen.until(ends)).not.toContain('note 2 of 3');
    }
  });

  it('adapts when the terminal is resized', async () => {
    writeExample(dir, notesOf(['4 -4 5 6', '-5 -5 6']), null);
    const screen = open();
    await screen.until('1 of 7');
    for (const [columns, rows] of [
      [120, 40],
      [60, 16],
      [30, 10],
      [100, 30],
    ]) {
      screen.resize(columns, rows);
      const wanted = columns < 40 ? 'too small' : 'note 1 of 7';
      const text = await screen.until((shown) => {
        const lines = shown.split('\n');
        return (
          shown.includes(wanted) &&
          (lines[0].length === columns || columns < 40) &&
          shown.split('tune.take.json').length <= 2
        );
      });
      expect(text.split('\n').filter((line) => line.startsWith('note 1 of 7'))).toHaveLength(
        columns < 40 ? 0 : 1,
      );
    }
  });

  it('plays through a sound player after a warning, and works without one', async () => {
    writeExample(dir, PLAYED);
    const bin = join(dir, 'bin');
    const { mkdirSync, chmodSync } = await import('node:fs');
    mkdirSync(bin);
    writeFileSync(join(bin, 'aplay'), `#!/bin/sh\nstat -c %s "$2" >> '${dir}/heard'\nsleep 0.2\n`);
    chmodSync(join(bin, 'aplay'), 0o755);
    writeFileSync(join(bin, 'stat'), `#!/bin/sh\nexec /usr/bin/stat "$@"\n`);
    chmodSync(join(bin, 'stat'), 0o755);
    const screen = open(undefined, `PATH='${bin}:/bin:/usr/bin'`);
    await screen.until(LISTENING);
    screen.keys('p');
    await screen.until('on headphones? Begin with the level low');
    screen.keys('p');
    // The screen says what sounds before the excerpt is written out and the player has begun.
    const heard = (): string[] =>
      existsSync(join(dir, 'heard'))
        ? readFileSync(join(dir, 'heard'), 'utf8').split('\n').filter(Boolean)
        : [];
    await screen.until((text) => text.includes('♪ this note') || heard().length > 0);
    await vi.waitUntil(() => heard().length >= 1, { timeout: 15_000 });
    // What is said when it ends would take the place of what is said to the keys.
    await screen.until((text) => !text.includes('♪'));
    screen.keys('e', 'e');
    await screen.until('plays at half speed from now on');
    screen.keys('l');
    await screen.until('♪ this phrase in a loop at half speed');
    await vi.waitUntil(() => heard().length >= 2, { timeout: 15_000 });
    screen.keys('Escape');
    await screen.until((text) => !text.includes('♪'));
    const sizes = heard().map(Number);
    // A note of 0.34 s with 0.05 s on each side at 22 050 Hz, 16 bit; the phrase twice as long as it is.
    expect(sizes[0]).toBeCloseTo(44 + 2 * 22_050 * 0.44, -2);
    const phraseSec = PLAYED[14].offsetSec - PLAYED[0].onsetSec + 0.1;
    expect(sizes[1]).toBeCloseTo(44 + 2 * 2 * 22_050 * phraseSec, -2);
    screen.close();
    const without = open(undefined, `PATH='${dir}'`);
    await without.until('no sound player was found: install alsa-utils');
  });
});
