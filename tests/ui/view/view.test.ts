import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readRecording } from '../../../src/audio/read.ts';
import { textColumns } from '../../../src/text/width.ts';
import { reduce } from '../../../src/ui/commands/reduce.ts';
import { HELP_ROWS, keysNow } from '../../../src/ui/keys.ts';
import { Ears } from '../../../src/ui/state/ears.ts';
import { hear } from '../../../src/ui/state/hearing.ts';
import { openState, type UiState } from '../../../src/ui/state/state.ts';
import { HELP_LINES } from '../../../src/ui/view/help.ts';
import { type Line, lineWidth, printLines, toAscii } from '../../../src/ui/view/line.ts';
import { screenLines } from '../../../src/ui/view/screen.ts';
import { notesOf, writeExample } from '../example-take.ts';
import { PLAYED, withMistakes } from '../mistakes.ts';

const AT = '2026-11-25T12:00:00.000Z';
const PLAIN = { colour: false, unicode: true };
let dir: string;
let start: UiState;
beforeAll(async () => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-view-'));
  const { take } = writeExample(dir, withMistakes(), PLAYED);
  const { samples } = await readRecording(join(dir, 'tune.wav'));
  const hearing = await hear(samples, () => {});
  const opened = openState('tune.take.json', take, {}, true);
  start = { ...opened, recording: 'ready', ears: new Ears(samples), hearing };
});
afterAll(() => rmSync(dir, { recursive: true, force: true }));

const press = (state: UiState, ...keys: string[]): UiState =>
  keys.reduce((now, key) => reduce(now, { kind: 'key', key, at: AT }).state, state);

/** As a terminal shows it, without the blanks at the ends of its rows. */
function show(state: UiState, columns: number, rows: number, capabilities = PLAIN): string {
  const lines = screenLines({ ...state, size: { columns, rows } });
  // biome-ignore lint/suspicious/noControlCharactersInRegex: the styles are taken off
  const text = printLines(lines, capabilities).replace(/\u001b\[[\d;]*m/g, '');
  return `${text
    .split('\n')
    .map((row) => row.trimEnd())
    .join('\n')}\n`;
}

describe('the screen', () => {
  it.each([
    [60, 20],
    [80, 24],
    [120, 40],
    [200, 60],
  ])('at %i × %i is as looked at', async (columns, rows) => {
    await expect(show(press(start, 'tab', 'tab'), columns, rows)).toMatchFileSnapshot(
      `golden/screen-${columns}x${rows}.txt`,
    );
  });

  it.each([
    ['words', ['w', ...'Oh! Su-san-na don’t you cry 歌 for me_ _']],
    ['harp', ['h', 'down', 'right']],
    ['quit', ['x', 'q']],
    ['help', ['?']],
    ['overview', ['j', 'down']],
    ['ornament', ['right', 'O', 's', 'O']],
    ['shake', ['right', '+', '5', '+', 'w', 'N', ...'keep it soft', 'enter']],
    ['bends', ['tab', 'tab', 'tab', 'tab', 'tab', 'tab', 'tab', 'tab']],
  ])('of %s is as looked at', async (name, keys) => {
    await expect(show(press(start, ...keys), 80, 24)).toMatchFileSnapshot(`golden/${name}-80x24.txt`);
  });

  it('in ASCII is unchanged and contains only ASCII', async () => {
    const text = show(press(start, 'tab'), 80, 24, { colour: false, unicode: false });
    expect(text).toMatch(/^[\x20-\x7e\n]*$/);
    await expect(text).toMatchFileSnapshot('golden/ascii-80x24.txt');
  });

  it('fits every size, in every mode, with one row to spare', () => {
    const modes = [[], ['w', ...'a b 日本語 の _'], ['h'], ['x', 'q'], ['?'], ['tab', '5']];
    for (const keys of modes) {
      const state = press(start, ...keys);
      for (const [columns, rows] of [
        [40, 12],
        [41, 13],
        [60, 16],
        [80, 24],
        [133, 33],
        [300, 100],
        [20, 5],
      ]) {
        const lines = screenLines({ ...state, size: { columns, rows } });
        expect(lines.length, `${keys} ${columns}x${rows}`).toBe(rows - 1);
        for (const line of lines)
          expect(lineWidth(line), `${keys} ${columns}x${rows}`).toBeLessThanOrEqual(columns);
      }
    }
  });

  it('keeps some tab on the smallest terminal and says where keys are explained', () => {
    const text = show(start, 40, 12);
    expect(text).toContain('[4]');
    expect(text).toContain('? all keys');
    expect(show(start, 120, 40)).not.toContain('? all keys');
  });

  it('shows doubt and faults by characters', () => {
    const first = show(start, 80, 24);
    expect(first).toContain('-5?');
    const { take } = start.edited;
    const notes = take.notes.map((note, i) =>
      i === 2 ? { ...note, leak: { hole: 6, levelDb: -12 } } : note,
    );
    const leaky = { ...start, edited: { ...start.edited, take: { ...take, notes } } };
    expect(show(leaky, 80, 24)).toMatch(/5!/);
    expect(show(leaky, 80, 24)).toMatch(/leak, hole +│ +6!/);
  });

  it('draws a bend below its reed', () => {
    // 3 draw, then 3 draw bent by two: two rows lower.
    const { take } = writeExample(dir, notesOf(["-3 -3''"]));
    const state = openState('x', take, {}, true);
    const rows = show(state, 80, 30).split('\n');
    const rowOf = (label: string) => rows.findIndex((row) => row.startsWith(`${label} `));
    expect(rowOf("-3'")).toBe(rowOf('-3') + 1);
    expect(rowOf("-3''")).toBe(rowOf('-3') + 2);
    const dots = /[\u2801-\u28ff]/;
    expect(rows[rowOf('-3')]).toMatch(dots);
    expect(rows[rowOf("-3'")]).not.toMatch(dots);
    expect(rows[rowOf("-3''")]).toMatch(dots);
  });

  it("shows no rows below the harp's range while there are others above", () => {
    const { take } = writeExample(dir, notesOf(['1 -1']));
    const rows = show(openState('x', take, {}, true), 80, 40).split('\n');
    // The lowest note of a C harp is 1 blow, C4 (OEIS A291810 and common practice).
    expect(rows[rows.findIndex((row) => row.startsWith('level')) - 1]).toMatch(/^1 +▶│/);
  });

  it('keeps words and notes in the same columns', () => {
    const state = press(start, 'w', ...'a 日本 e\u0301a __ b');
    const rows = show(state, 80, 24).split('\n');
    const tab = rows.findIndex((row) => row.startsWith('A '));
    // Columns before each cell of the tab, and before each word below it: the same.
    const columnsOf = (row: string) =>
      [...row.matchAll(/\S+/g)].map(({ index }) => textColumns(row.slice(0, index)));
    const notes = columnsOf(rows[tab].replace(/[[\]]/g, ' ')).slice(2);
    const words = columnsOf(rows[tab + 1].replace('verse 1', '       '));
    expect(words).toEqual(notes.slice(0, words.length));
    expect(words).toHaveLength(6);
  });
});

describe('keys', () => {
  it('are all on the screen if they do something now', () => {
    for (const keys of [[], ['w'], ['h'], ['x', 'q'], ['tab', '5', 'u']]) {
      const state = press(start, ...keys);
      const text = show(state, 120, 40);
      for (const row of keysNow(state)) expect(text, `${keys} ${row.show}`).toContain(row.label);
    }
  });

  it('are explained in lines that fit 80 columns', () => {
    for (const line of HELP_LINES)
      expect(lineWidth(line), line.map(({ text }) => text).join('')).toBeLessThanOrEqual(80);
  });

  it('are all explained in the help', () => {
    let seen = '';
    let state = press({ ...start, size: { columns: 120, rows: 24 } }, '?');
    for (let page = 0; page < 6; page++) {
      seen += show(state, 120, 24);
      state = press(state, ' ');
    }
    // The end is on the last page, and one step back is seen.
    expect(show(state, 120, 24)).toContain('take breaks');
    expect(show(press(state, 'up'), 120, 24)).not.toBe(show(state, 120, 24));
    expect(seen.match(/^Take$/gm)?.length).toBeLessThanOrEqual(2);
    for (const { help } of HELP_ROWS) expect(seen).toContain(help.slice(0, 100));
  });

  it('never mean two things at once', () => {
    for (const keys of [[], ['w'], ['h'], ['?'], ['x', 'q']]) {
      const now = keysNow(press(start, ...keys)).flatMap((row) => row.keys);
      expect(new Set(now).size).toBe(now.length);
    }
  });

  it('need no AltGr on German and French keyboards', () => {
    // What those layouts (DIN 2137 T1, AZERTY of French PCs) only give with AltGr, or as a dead key.
    const hidden = new Set('[]{}\\|@~#`^€');
    const typed = HELP_ROWS.flatMap(({ id, keys, show }) => (id === 'type' ? [show] : keys));
    for (const key of typed) expect(hidden.has(key), key).toBe(false);
    expect(typed.length).toBeGreaterThan(40);
  });
});

describe('signs', () => {
  it('have ASCII replacements of the same width', () => {
    for (const sign of '─━│·…▁▂▃▄▅▆▇█←→↑↓▲▼▶♪╵⠂⠒⣿') {
      const ascii = toAscii(sign);
      expect(ascii, sign).toMatch(/^[\x20-\x7e]$/);
    }
    expect(toAscii('Müller 日本')).toBe('Müller 日本');
  });

  it('are styled without colour when there is none', () => {
    const line: Line = [{ text: 'a', style: { colour: 'red', bold: true } }];
    expect(printLines([line], { colour: false, unicode: true })).toBe('\u001b[1ma\u001b[0m');
    expect(printLines([line], { colour: true, unicode: true })).toBe('\u001b[1;31ma\u001b[0m');
  });
});
