import { describe, expect, it } from 'vitest';
import type { LeftOut } from '../../../src/analysis/playing/left-out.ts';
import type { Note } from '../../../src/tab/note.ts';
import { formatTabNote } from '../../../src/tab/text.ts';
import { checkTake } from '../../../src/take/parse.ts';
import { buildTake } from '../../../src/take/take.ts';
import { reduce } from '../../../src/ui/commands/reduce.ts';
import { leftOutMarks } from '../../../src/ui/state/left-out.ts';
import { openState, type UiState } from '../../../src/ui/state/state.ts';
import { printLines } from '../../../src/ui/view/line.ts';
import { screenLines } from '../../../src/ui/view/screen.ts';
import { EXAMPLE_SOURCE } from '../../take/example.ts';
import { HARP, notesOf } from '../example-take.ts';

const AT = '2026-11-25T12:00:00.000Z';
const LINES = ['4 -4 5 -5', '6 -6 7', '5 4 -4'];
const LEFT_OUT: readonly LeftOut[] = [
  { onsetSec: 0.1, offsetSec: 0.4, f0Hz: 523.3, why: 'doubtful' },
  { onsetSec: 2.12, offsetSec: 2.42, f0Hz: 587.3, why: 'talk' },
];

function open(lines: readonly string[] = LINES, leftOut: readonly LeftOut[] = []): UiState {
  const notes: readonly Note[] = notesOf(lines);
  let firstNote = 0;
  const phrases = lines.map((line) => {
    const first = firstNote;
    firstNote += line.split(' ').length;
    return { firstNote: first, lastNote: firstNote - 1 };
  });
  const source = { ...EXAMPLE_SOURCE, durationSec: 1 + (notes.at(-1)?.offsetSec ?? 0) };
  const harp = { ...HARP, confidence: 1, alternatives: [] };
  return openState(
    'a.take.json',
    buildTake(source, { harp, notes, leftOut: [...leftOut], phrases }),
    {},
    true,
  );
}
function press(state: UiState, ...keys: string[]): UiState {
  let now = state;
  for (const key of keys) {
    now = reduce(now, { kind: 'key', key, at: AT }).state;
    checkTake(JSON.parse(JSON.stringify(now.edited.take)), 'take');
  }
  return now;
}
const tabs = (state: UiState) => state.edited.take.notes.map((note) => formatTabNote(note)).join(' ');
const said = (state: UiState) => state.message?.text ?? '';
const show = (state: UiState, columns = 100, rows = 30) =>
  printLines(screenLines({ ...state, size: { columns, rows } }), { colour: false, unicode: true });

describe('several holes', () => {
  const state = open();

  it('can be added, dropped and made a shake, and each can be undone', () => {
    const chord = press(state, 'right', '+', '5');
    expect(tabs(chord)).toMatch(/^4 -4\+5 5/);
    expect(show(chord)).toContain('4, 5 draw at once');
    const three = press(chord, '+', '6');
    expect(tabs(three)).toMatch(/^4 -4\+5\+6 5/);
    const shake = press(chord, '+', 'w');
    expect(tabs(shake)).toMatch(/^4 -4w5 5/);
    expect(show(shake)).toContain('4 and 5 draw in turn, a shake');
    expect(tabs(press(shake, '+', '5'))).toBe(tabs(state));
    expect(tabs(press(three, '+', '4'))).toMatch(/^4 -5\+6 5/);
    expect(tabs(press(shake, 'u', 'u'))).toBe(tabs(state));
  });

  it('change breath, hole and octave together', () => {
    const chord = press(state, '+', '5');
    expect(tabs(chord)).toMatch(/^4\+5 /);
    expect(tabs(press(chord, 'd'))).toMatch(/^-4\+5 /);
    expect(tabs(press(chord, '>'))).toMatch(/^5\+6 /);
    // C5 and E5 are 4 and 5 blow of a C harp, C6 and E6 are 7 and 8 blow (OEIS A291810).
    expect(tabs(press(chord, ')'))).toMatch(/^7\+8 /);
    expect(tabs(press(chord, '5'))).toMatch(/^5 /);
  });

  it('can be bent one after the other, and keep the bend when one is added', () => {
    const chord = press(open(['-4 5']), '+', '5');
    expect(tabs(chord)).toMatch(/^-4\+5 /);
    expect(tabs(press(chord, "'"))).toMatch(/^-4'\+5 /);
    expect(tabs(press(chord, "'", "'"))).toMatch(/^-4\+5 /);
    const added = press(open(["-3''"]), '+', '4');
    expect(tabs(added)).toMatch(/^-3''\+4/);
    expect(show(added)).toContain('3 bent by 2, 4 draw at once');
    expect(tabs(press(added, "'"))).toMatch(/^-3'''\+4/);
    expect(tabs(press(added, "'", "'"))).toMatch(/^-3\+4'/);
    expect(tabs(press(added, '+', '4'))).toMatch(/^-3''/);
    expect(said(press(added, '+', 'w'))).toContain("a shake can't be bent");
    expect(tabs(press(added, 'u'))).toMatch(/^-3''/);
  });

  it("can't be added to an overblow, and no key is confused with another", () => {
    const over = press(open(['6o']), '+');
    expect(said(over)).toContain('sounds alone');
    expect(over.mode.kind).toBe('notes');
    expect(press(state, '+', 'x').edited).toBe(state.edited);
    expect(said(press(state, '+', 'w'))).toContain('two adjacent holes');
    expect(said(press(state, '+', '4'))).toContain('only hole');
  });
});

describe('what was left out', () => {
  const state = open(LINES, LEFT_OUT);

  it('can be visited, made a note with one key, and left out again', () => {
    expect(show(state)).toContain('2 left out');
    const there = press(state, 'L');
    expect(there.mark).toBe('left-out 2.12');
    expect(show(there)).toContain('2 of 2 left out: taken for talk');
    const back = press(there, ' ');
    expect(tabs(back)).toBe('4 -4 5 -5 -4 6 -6 7 5 4 -4');
    expect(back.at).toBe(4);
    expect(back.edited.take.leftOut).toHaveLength(1);
    const out = press(back, 'x');
    expect(tabs(out)).toBe(tabs(state));
    expect(leftOutMarks(out).map(({ why }) => why)).toEqual(['doubtful', 'talk']);
    expect(press(back, 'u').edited.take.leftOut).toEqual(state.edited.take.leftOut);
  });

  it('becomes any hole that is typed on it', () => {
    expect(tabs(press(state, 'L', '7'))).toBe('4 -4 5 -5 -7 6 -6 7 5 4 -4');
    expect(press(state, 'L', 'enter').mark).toBe('left-out 0.1');
  });

  it('is drawn with its reason over the pitch', () => {
    expect(show(state)).toMatch(/^notes .*│faint/m);
  });
});

describe('the words about a tune', () => {
  const state = open();

  it('are its title and what the teacher says about a phrase or the whole take', () => {
    const titled = press(state, 'T', ...'Low tide', 'enter');
    expect(titled.edited.take.title).toBe('Low tide');
    expect(show(titled)).toContain('Low tide');
    const noted = press(titled, 'down', 'N', ...'soft', 'enter');
    expect(noted.edited.take.phrases[1].advice).toBe('soft');
    expect(show(noted)).toContain('“soft”');
    const all = press(noted, 'N', 'tab', ...'slowly', 'enter');
    expect(all.edited.take.advice).toBe('slowly');
    expect(press(all, 'u', 'u', 'u').edited.take).not.toHaveProperty('title');
    // What is there is gone on with.
    expect(press(noted, 'N', 'backspace', 'enter').edited.take.phrases[1].advice).toBe('sof');
    // It stands above the tune, and stays there once the message has gone.
    expect(show(press(all, 'up', 'right'))).toMatch(/“slowly”[\s\S]*A +0:0/);
  });

  it('are pasted as one line', () => {
    const pasted = press(state, 'T', 'paste:Low\r tide\u001b', 'enter');
    expect(pasted.edited.take.title).toBe('Low tide');
  });
});

describe('notes of a phrase', () => {
  it('can be moved to the next one', () => {
    const state = open();
    const moved = press(state, 'down', '*', 'right', 'K');
    expect(moved.ranges.map(({ first, last }) => [first, last])).toEqual([
      [0, 5],
      [6, 6],
      [7, 9],
    ]);
    expect(said(moved)).toContain('these 2 notes are now in phrase 1');
    const own = press(state, 'right', 'K');
    expect(own.ranges.map(({ first }) => first)).toEqual([0, 1, 2, 4, 7]);
    expect(said(own)).toContain('a phrase of its own');
  });
});

describe('the list of phrases', () => {
  const long = open(Array.from({ length: 60 }, (_, i) => `4 -4 ${1 + (i % 10)}`));

  it('can be scrolled and jumps to a phrase', () => {
    const list = press(long, 'j', 'down', 'down', 'pagedown');
    expect(list.mode).toEqual({ kind: 'overview', phrase: 2 + 20 });
    expect(show(list, 80, 24)).toMatch(/▶ 23 .*4 -4 3/);
    expect(press(list, 'enter').at).toBe(22 * 3);
    expect(press(list, 'escape').at).toBe(0);
    expect(press(long, 'j', 'end', 'enter').at).toBe(59 * 3);
  });

  it('can be clicked', () => {
    // Two rows above the list.
    expect(press(long, 'j', 'click:10,6').at).toBe(4 * 3);
    expect(press(long, 'j', 'click:10,0').mode.kind).toBe('overview');
  });

  it('shows what to check, and Tab goes there', () => {
    const doubted = { ...long.edited.take.notes[30], confidence: 0.4, flags: ['doubtful-hole'] };
    const notes = long.edited.take.notes.map((note, i) => (i === 30 ? doubted : note));
    const state = { ...long, edited: { ...long.edited, take: { ...long.edited.take, notes } } };
    const list = press(state, 'j', 'tab');
    expect(list.mode).toEqual({ kind: 'overview', phrase: 10 });
    expect(show(list)).toMatch(/▶ 11 .* 1\? /);
  });
});

describe('syllables that lost their note', () => {
  it('can be restored to the line', () => {
    const state = press(open(), 'w', ...'Oh Su-san-na', 'enter', 'right', 'x');
    expect(state.edited.take.words.map(({ noteId, text }) => `${noteId} ${text}`)).toEqual([
      'n1 Oh',
      'null Su',
      'n3 san',
      'n4 na',
    ]);
    const open2 = press(state, 'w', 'home', 'right', 'right', 'right', 'ctrl-g');
    expect(open2.mode).toMatchObject({ text: 'Oh Su-san-na' });
    const kept = press(open2, 'enter').edited.take.words;
    expect(kept.map(({ noteId, text }) => `${noteId} ${text}`)).toEqual([
      'n1 Oh',
      'n3 Su',
      'n4 san',
      'null na',
    ]);
    // Left as it was, it is as it was.
    expect(press(open2, 'escape').edited.take.words).toEqual(state.edited.take.words);
  });
});

describe('the form of a tune', () => {
  const state = open(['4 -4 5 -5', '4 -4 5 -5', '6 -6 7 7', '4 -4 5 -5']);
  const names = (now: UiState) => now.edited.take.phrases.map(({ name }) => name ?? '');

  it('names all sections, by letters or words, and is undone in one step', () => {
    const formed = press(state, 'n', 'tab', ...'AABA', 'enter');
    expect(names(formed)).toEqual(['A', 'A', 'B', 'A']);
    expect(said(formed)).toBe('sections: A A B A');
    expect(names(press(formed, 'u'))).toEqual(['', '', '', '']);
    const three = press(state, 'n', 'tab', ...'verse bridge verse', 'enter');
    expect(names(three).filter((name) => name !== '')).toEqual(['verse', 'bridge', 'verse']);
  });

  it('can be continued, and disappears when deleted', () => {
    const formed = press(state, 'n', 'tab', ...'AABA', 'enter', 'n', 'tab');
    expect(formed.mode).toMatchObject({ what: 'form', text: 'A A B A' });
    const rubs = new Array<string>(7).fill('backspace');
    expect(names(press(formed, ...rubs, 'enter'))).toEqual(['', '', '', '']);
  });

  it('is refused if it has more sections than there are phrases', () => {
    const told = press(state, 'n', 'tab', ...'ABCDE', 'enter');
    expect(said(told)).toBe('5 sections but only 4 phrases: k splits phrases');
    expect(names(told)).toEqual(['', '', '', '']);
    expect(said(press(state, 'n', 'tab', ...'A?!', 'enter'))).toContain('is not a form');
  });
});
