import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Note } from '../../../src/tab/note.ts';
import { formatTabNote } from '../../../src/tab/text.ts';
import { changeTake } from '../../../src/take/edits/change.ts';
import { diffTakes } from '../../../src/take/edits/patch.ts';
import { checkTake } from '../../../src/take/parse.ts';
import { buildTake } from '../../../src/take/take.ts';
import { wordsUnder } from '../../../src/take/words.ts';
import { reduce } from '../../../src/ui/commands/reduce.ts';
import { keysNow } from '../../../src/ui/keys.ts';
import { marksOf } from '../../../src/ui/state/marks.ts';
import { type Effect, openState, type UiState, unsavedCount } from '../../../src/ui/state/state.ts';
import { EXAMPLE_SOURCE } from '../../take/example.ts';
import { HARP, notesOf, sounding, tab } from '../example-take.ts';
import { withMistakes } from '../mistakes.ts';

const AT = '2026-11-25T12:00:00.000Z';

/** Phrases as the lines of `notesOf` have them, however short: half a second of rest parts two. */
function byRests(notes: readonly Note[]) {
  const firsts = notes.flatMap((note, i) =>
    i === 0 || note.onsetSec - notes[i - 1].offsetSec > 0.4 ? [i] : [],
  );
  return firsts.map((firstNote, k) => ({ firstNote, lastNote: (firsts[k + 1] ?? notes.length) - 1 }));
}

function open(notes: readonly Note[]): UiState {
  const take = buildTake(
    { ...EXAMPLE_SOURCE, durationSec: (notes.at(-1)?.offsetSec ?? 0) + 1 },
    { harp: { ...HARP, confidence: 1, alternatives: [] }, notes, phrases: byRests(notes) },
  );
  return openState('a.take.json', take, {}, true);
}
/** The screen after some keys, and the effects of the last. */
function press(state: UiState, ...keys: string[]): { state: UiState; effects: readonly Effect[] } {
  let effects: readonly Effect[] = [];
  let now = state;
  for (const key of keys) ({ state: now, effects } = reduce(now, { kind: 'key', key, at: AT }));
  return { state: now, effects };
}
const tabs = (state: UiState) => state.edited.take.notes.map((note) => formatTabNote(note)).join(' ');
const here = (state: UiState) => formatTabNote(state.edited.take.notes[state.at]);

const doubt = (confidence: number, other: string): Partial<Note> => ({
  confidence,
  flags: ['doubtful-hole'],
  alternatives: [{ ...tab(other), confidence: 0.9 - confidence }],
});
/** A tune whose 2 draws were read as 3 blow in places. */
const tune = () => {
  const notes = notesOf(["-2 -3'' -3 4", '4 -4 5', "-2 -3'' -3 4"]);
  return notes.map((note, i) =>
    i === 0 || i === 7 ? { ...note, ...tab('3'), ...doubt(i === 0 ? 0.5 : 0.4, '-2') } : note,
  );
};

describe('moving the cursor', () => {
  const state = open(tune());
  it('goes by note and phrase, within the ends', () => {
    expect(press(state, 'left').state.at).toBe(0);
    expect(press(state, 'right', 'right').state.at).toBe(2);
    expect(press(state, 'down').state.at).toBe(4);
    expect(press(state, 'down', 'right', 'up').state.at).toBe(4);
    expect(press(state, 'down', 'right', 'up', 'up').state.at).toBe(0);
    expect(press(state, 'end').state.at).toBe(10);
    expect(press(state, 'end', 'right').state.at).toBe(10);
  });

  it('goes to the next place to check, in time order, wrapping round', () => {
    expect(marksOf(state).map(({ kind, at }) => [kind, at])).toEqual([
      ['doubt', 0],
      ['doubt', 7],
    ]);
    expect(press(state, 'tab').state.at).toBe(0);
    expect(press(state, 'tab', 'tab').state.at).toBe(7);
    expect(press(state, 'tab', 'tab', 'tab').state.at).toBe(0);
    expect(press(state, 'right', 'tab').state.at).toBe(7);
    expect(press(state, 'right', 'shift-tab').state.at).toBe(0);
    expect(press(state, 'end', 'tab').state.at).toBe(0);
    expect([...press(state, 'tab', 'tab', 'left').state.seen]).toEqual(['doubt n1', 'doubt n8']);
    expect(press(open(notesOf(['4 -4'])), 'tab').state.message?.text).toContain('no doubtful notes');
  });

  it('stops at a note that may be two, which Space splits and Enter settles as one', () => {
    const twice = open(notesOf(['4 -4']).map((note) => ({ ...note, flags: ['maybe-two'] })));
    expect(marksOf(twice).map(({ kind, text }) => [kind, text])).toEqual([
      ['again', '4 may be played twice here'],
      ['again', '-4 may be played twice here'],
    ]);
    const cut = press(twice, 'tab', ' ').state;
    expect(tabs(cut)).toBe('4 4 -4');
    expect(marksOf(press(cut, 'tab', 'enter').state)).toEqual([]);
    // Where it was heard to begin again, not in the middle.
    const [first, ...rest] = twice.edited.take.notes;
    const againSec = first.onsetSec + 0.25 * (first.offsetSec - first.onsetSec);
    const placed = press(open([{ ...first, againSec }, ...rest]), 'tab', ' ').state.edited.take.notes;
    expect(placed[1].onsetSec).toBeCloseTo(againSec, 3);
    expect(placed.slice(0, 2).map((note) => note.againSec)).toEqual([undefined, undefined]);
  });

  it('settles a note when it is accepted and moves to the next', () => {
    const { state: after, effects } = press(state, 'tab', 'enter');
    expect(after.edited.take.notes[0]).toMatchObject({ confidence: 1, flags: ['accepted'] });
    expect(after.at).toBe(7);
    expect(effects).toMatchObject([{ kind: 'journal', edit: { seq: 1, what: 'accept' } }]);
    expect(press(after, 'enter').state.message?.text).toContain('no doubtful notes');
  });
});

describe('changing a reading', () => {
  const state = open(tune());
  it('cycles through the alternatives', () => {
    expect(here(press(state, ' ').state)).toBe('-2');
    expect(here(press(state, ' ', ' ').state)).toBe('3');
    // Of a note that is sure, the other readings of its pitch: none for 4 draw, D5 (OEIS A291810).
    expect(press(state, 'down', 'right', ' ').state.message?.text).toContain('type a hole');
  });

  it('reads a hole with the breath and bend that fit the pitch', () => {
    // A4 is 3 draw bent by two (B4 less a whole tone), and G4 2 draw.
    expect(here(press(state, 'right', '3').state)).toBe("-3''");
    expect(here(press(state, '2').state)).toBe('-2');
    // Nothing on hole 10 is near: the nearest is 10 draw, A6, two octaves above A4.
    expect(here(press(state, 'right', '0').state)).toBe('-10');
    expect(press(state, 'right', '0').state.message?.text).toBe(
      '-10 contradicts the sound: sounds A4, 2 octaves lower',
    );
  });

  it('changes breath, bend and overbend', () => {
    const third = press(state, 'right', 'right').state;
    expect(here(third)).toBe('-3');
    expect(here(press(third, "'").state)).toBe("-3'");
    expect(here(press(third, "'", "'", "'").state)).toBe("-3'''");
    expect(here(press(third, "'", "'", "'", "'").state)).toBe('-3');
    expect(here(press(third, 'v', '3').state)).toBe("-3'''");
    expect(here(press(third, 'v', '3', '"').state)).toBe("-3''");
    expect(here(press(third, 'v', '2', 'v', '0').state)).toBe('-3');
    expect(here(press(third, 'v', 'escape').state)).toBe('-3');
    expect(press(third, 'v').state.message?.text).toBe('bent by how many semitones? 0 to 3');
    expect(here(press(third, 'b').state)).toBe('3');
    expect(here(press(third, 'b', 'd').state)).toBe('-3');
    const six = open([sounding('6', 1, 2, 'n1')]);
    expect(here(press(six, 'o').state)).toBe('6o');
    expect(here(press(six, 'o', 'o').state)).toBe('6');
  });

  it('offers the same elsewhere, and changes nothing before it is accepted', () => {
    const { state: asked } = press(state, '2');
    expect(asked.offer).toEqual({ readings: [['n8', tab('-2')]], isShown: false });
    expect(tabs(asked)).toContain('3 -3');
    // The first time it is only shown which they are.
    const { state: shown, effects: none } = press(asked, 'a');
    expect([shown.offer?.isShown, none]).toEqual([true, []]);
    expect(press(shown, 'right').state.offer).toBeNull();
    const { state: taken, effects } = press(shown, 'a');
    expect(tabs(taken)).toBe("-2 -3'' -3 4 4 -4 5 -2 -3'' -3 4");
    expect(effects).toMatchObject([{ edit: { what: 'offer', by: 'offer' } }]);
    expect(press(asked, 'escape').state.offer).toBeNull();
    expect(tabs(press(taken, 'u').state)).toBe(tabs(asked));
  });

  it('also corrects all later notes like it', () => {
    const later = press(state, '2', 'escape', 'right', 'left', 'a', 'a').state;
    expect(tabs(later)).toBe("-2 -3'' -3 4 4 -4 5 -2 -3'' -3 4");
    expect(press(state, 'a').state.message?.text).toBe('correct this note first');
  });

  it('copies a phrase to its repeat, except where that has another pitch', () => {
    const line = "-2 -3'' -3 4 -4 4 -3 -2";
    const notes = notesOf([line, '4 -4 5', line]);
    notes[0] = { ...notes[0], ...tab('3'), ...doubt(0.5, '-2') };
    notes[11] = { ...notes[11], ...tab('3'), ...doubt(0.4, '-2') };
    notes[13] = { ...sounding('-1', notes[13].onsetSec, notes[13].offsetSec, 'n14') };
    const carried = press(open(notes), '2', 'escape', 'right', 'right', 'enter', 'home', 'c').state;
    expect(carried.message?.text).toBe('copied to 1 repeat: 1 note; u undoes that');
    expect(formatTabNote(carried.edited.take.notes[11])).toBe('-2');
    expect(formatTabNote(carried.edited.take.notes[13])).toBe('-1');
  });
});

describe('times', () => {
  const state = open(notesOf(['4 -4']));
  const second = (now: UiState) => now.edited.take.notes[1];
  it('are nudged by 10 ms', () => {
    expect(second(press(state, 'right', ',').state).onsetSec).toBeCloseTo(0.89, 9);
    expect(second(press(state, 'right', '.').state).onsetSec).toBeCloseTo(0.91, 9);
    expect(second(press(state, 'right', ';').state).offsetSec).toBeCloseTo(1.23, 9);
    expect(second(press(state, 'right', ':').state).offsetSec).toBeCloseTo(1.25, 9);
  });

  it('are changed in one step, however often a key is pressed', () => {
    const moved = press(state, 'right', ',', ',', ',').state;
    expect(second(moved).onsetSec).toBeCloseTo(0.87, 9);
    expect(second(press(moved, 'u').state).onsetSec).toBeCloseTo(0.9, 9);
    expect(second(press(moved, 'u', 'r').state).onsetSec).toBeCloseTo(0.87, 9);
    const both = press(moved, ';', ';').state;
    expect(second(press(both, 'u').state)).toEqual(second(moved));
  });

  it('change when notes are split, joined, inserted and deleted', () => {
    expect(tabs(press(state, 's').state)).toBe('4 4 -4');
    expect(press(state, 's').state.at).toBe(1);
    expect(press(state, 's').state.message?.text).toBe(
      'split in the middle: the recording is still being read',
    );
    expect(tabs(press(state, 's', 'left', 'm').state)).toBe('4 -4');
    expect(tabs(press(state, 'end', 'i', '6').state)).toBe('4 -4 -6');
    expect(press(state, 's', 'left', 'i').state.message?.text).toContain('split it instead');
    expect(tabs(press(state, 'I', '6').state)).toBe('6 4 -4');
    expect(press(state, 'I').state.at).toBe(0);
    expect(tabs(press(state, 'right', 'I').state)).toBe('4 -4 -4');
    expect(press(state, 's', 'I').state.message?.text).toContain('no gap before this note');
    expect(tabs(press(state, 'x').state)).toBe('-4');
    const none = press(state, 'x', 'x').state;
    expect(tabs(press(none, 'i').state)).toBe('4');
    expect(tabs(press(none, 'I', '6').state)).toBe('6');
    expect(tabs(none)).toBe('');
    expect(tabs(press(none, 'x', 'left', 'tab', 'u').state)).toBe('-4');
  });
});

describe('the tune as a whole', () => {
  const state = open(notesOf(['4 -4 5 6', '6 -6']));
  const phrases = (now: UiState) => now.ranges.map(({ first, last }) => [first, last]);
  it('has phrases that one key breaks and joins', () => {
    const broken = press(state, 'right', 'right', 'k').state;
    expect(phrases(broken)).toEqual([
      [0, 1],
      [2, 3],
      [4, 5],
    ]);
    expect(phrases(press(broken, 'k').state)).toEqual(phrases(state));
    expect(phrases(press(broken, 'u').state)).toEqual(phrases(state));
    expect(press(broken, 'end', 'u').state.at).toBe(2);
    expect(press(state, 'k').state.message?.text).toBe('the first phrase begins here');
  });

  it('has named sections that can be searched for', () => {
    const named = press(state, 'down', 'n', ...'Chorus', 'enter').state;
    expect(named.ranges[1].name).toBe('Chorus');
    expect(press(named, 'home', '/', ...'cho', 'enter').state.at).toBe(4);
    expect(press(press(named, 'k').state, 'u').state.ranges[1].name).toBe('Chorus');
    const none = press(named, 'n', ...Array(6).fill('backspace'), 'enter').state;
    expect(none.ranges[1].name).toBe('');
  });

  it('has bars as the player sets them', () => {
    const said = press(state, 'right', 'y', ...'3/4 free', 'escape').state;
    expect(said.edited).toBe(state.edited);
    const beats = press(state, 'right', 'y', ...'3/4 150 here', 'enter').state.edited.take.beats;
    expect(beats).toMatchObject({ metre: { count: 3, unit: 4 }, given: { tempoBpm: 150 } });
    const second = beats.notes?.find(({ id }) => id === 'n2');
    // Three quarters of twelve ticks each: a bar begins with the second note.
    expect((second?.atTicks ?? -1) % 36).toBe(0);
    expect(press(state, 'y', ...'3/5', 'enter').state.message?.text).toContain('is not a metre');
  });

  it('can be searched by time, hole and kind', () => {
    const at = (text: string) => press(state, '/', ...text, 'enter').state.at;
    expect(at('0:01.3')).toBe(2);
    expect(at('-6')).toBe(5);
    expect(at('6')).toBe(3);
    expect(press(state, '/', ...'6', 'enter', '/', 'enter').state.at).toBe(4);
    expect(press(state, '/', ...'nothing', 'enter').state.message?.text).toBe(
      "nothing here matches 'nothing'",
    );
  });

  it('can be changed a range at a time', () => {
    const range = press(state, 'right', 'shift-right').state;
    expect(tabs(press(range, 'x').state)).toBe('4 6 6 -6');
    expect(tabs(press(range, '>').state)).toBe('4 -5 6 6 6 -6');
    expect(tabs(press(range, ')').state)).toBe('4 -8 8 6 6 -6');
    expect(tabs(press(state, '*', 'right', '<', '<').state)).toBe('2 -2 5 6 6 -6');
    const moved = press(range, '.', '.').state;
    expect(
      moved.edited.take.notes.map(({ onsetSec }, i) => onsetSec - state.edited.take.notes[i].onsetSec),
    ).toEqual([0, 0.02, 0.02, 0, 0, 0].map((sec) => expect.closeTo(sec, 6)));
    expect(press(moved, 'u').state.edited.take.notes).toEqual(state.edited.take.notes);
    expect(press(press(range, 'escape').state, 'x').state.edited.take.notes).toHaveLength(5);
    // All or none: hole 0 is on no harp.
    expect(press(press(state, '0', 'left').state, '*', '>').state.message?.text).toContain(
      'does not have all',
    );
  });
});

describe('words', () => {
  const state = open(notesOf(['4 -4 5', '6 -6', '7']));
  const under = (now: UiState) => [...wordsUnder(now.edited.take)];
  it('go under the notes of their phrase and no others, unless asked for', () => {
    const first = press(state, 'w', ...'a b c d', 'enter').state;
    expect(first.message?.text).toBe('1 syllable has no note; it is printed after the tab');
    expect(under(first)).toEqual([
      ['n1', 'a'],
      ['n2', 'b'],
      ['n3', 'c'],
    ]);
    const next = press(state, 'w', 'down', ...'She sat', 'up', ...'a b the cat', 'ctrl-r');
    expect(next.state.mode).toMatchObject({ text: 'cat She sat', caret: 3 });
    const kept = press(next.state, 'enter').state;
    expect(under(kept).map(([id, text]) => `${id} ${text}`)).toEqual([
      'n1 a',
      'n2 b',
      'n3 the',
      'n4 cat',
      'n5 She',
    ]);
    expect(press(state, 'w', ...'a', 'ctrl-r').state.mode).toMatchObject({ text: 'a' });
  });

  it('stay open at both ends of the take, so that no letter becomes a command', () => {
    for (const keys of [['up'], ['down', 'down', 'down', 'down']]) {
      const now = press(state, 'w', ...keys, ...'I w').state;
      expect(now.mode).toMatchObject({ kind: 'words', text: 'I w' });
      expect(tabs(now)).toBe(tabs(state));
    }
  });

  it('are kept while they are typed, as one step', () => {
    const keep = (now: UiState) => reduce(now, { kind: 'keep-typed', at: AT });
    const once = keep(press(state, 'w', ...'a b').state);
    expect(once.effects).toMatchObject([{ kind: 'journal', edit: { what: 'verses' } }]);
    expect(once.state.mode).toMatchObject({ kind: 'words', text: 'a b' });
    expect(keep(once.state).effects).toEqual([]);
    const more = keep(press(once.state, ...' c d e').state).state;
    // Those without a note are not there twice.
    expect(more.edited.take.words.map(({ text }) => text)).toEqual(['a', 'b', 'c', 'd', 'e']);
    const done = press(more, 'enter').state;
    expect(press(done, 'u').state.edited.take.words).toEqual([]);
    expect(press(done, 'u', 'r').state.edited.take.words).toEqual(done.edited.take.words);
    const left = press(more, 'escape').state;
    expect(left.edited.take.words).toEqual([]);
    expect(unsavedCount(press(left, 'u').state)).toBe(0);
  });

  it('can be held, shifted, joined and typed over', () => {
    const held = press(state, 'w', ...'oh_ dear', 'enter').state;
    expect(under(held)).toEqual([
      ['n1', 'oh'],
      ['n2', '_'],
      ['n3', 'dear'],
    ]);
    const shifted = press(held, 'w', 'home', '*', ' ', 'enter').state;
    expect(under(shifted)).toEqual([
      ['n2', 'oh'],
      ['n3', '_'],
    ]);
    const gone = press(held, 'w', ...Array(9).fill('backspace'), ...'la~la', 'enter').state;
    expect(under(gone)).toEqual([['n1', 'la la']]);
    expect(under(press(held, 'w', ...'xyz', 'escape').state)).toEqual(under(held));
  });

  it('continue line by line', () => {
    const lines = press(state, 'w', ...'a b c', 'down', ...'d e', 'down', ...'f', 'enter').state;
    expect(under(lines).map(([, text]) => text)).toEqual(['a', 'b', 'c', 'd', 'e', 'f']);
  });

  it('have verses, each kept apart from the others', () => {
    const type = (text: string) => [...text];
    const first = press(open(tune()), 'w', ...type('Rös-lein auf'), 'enter').state;
    const second = press(first, 'w', 'ctrl-n', ...type('Hei-de'), 'enter').state;
    expect(second.verse).toBe(2);
    const verse = (now: UiState, n: number) => [...wordsUnder(now.edited.take, n).values()].join(' ');
    expect([1, 2].map((n) => verse(second, n))).toEqual(['Rös- lein auf', 'Hei- de']);
    const back = press(second, 'w', 'pageup').state;
    expect(back.mode).toMatchObject({ kind: 'words', text: 'Rös-lein auf' });
    // No further than the verses that there are.
    expect(press(first, 'w', 'pagedown').state).toMatchObject({ verse: 1, mode: { kind: 'words' } });
    expect(press(first, 'w', 'pagedown').state.message?.text).toContain('Ctrl-N begins one');
    expect(press(back, 'pageup').state.verse).toBe(1);
    // Leaving a verse and coming back changes nothing.
    expect(unsavedCount(press(back, 'pagedown', 'pageup').state)).toBe(unsavedCount(second));
  });
  it('are pasted line by line, and only where words are typed', () => {
    const lines = press(state, 'w', 'paste:a b c\rd e\r\nf g\nh', 'enter').state;
    expect(under(lines).map(([, text]) => text)).toEqual(['a', 'b', 'c', 'd', 'e', 'f']);
    expect(lines.edited.take.words.filter(({ noteId }) => noteId === null).map(({ text }) => text)).toEqual([
      'g',
      'h',
    ]);
    expect(tabs(press(state, 'paste:xxx').state)).toBe(tabs(state));
  });

  it('are pasted verse by verse after empty lines, in one change, with no word dropped', () => {
    const verse = (now: UiState, n: number) => [...wordsUnder(now.edited.take, n).values()].join(' ');
    const pasted = press(state, 'w', 'paste:a b c d\ne\n \n\nf g h\r\n\ri j k\rl m\rn o');
    const now = pasted.state;
    expect([1, 2, 3].map((n) => verse(now, n))).toEqual(['a b c e', 'f g h', 'i j k l m n']);
    expect(now.edited.take.words).toHaveLength(15);
    expect(now.message?.text).toBe(
      '3 verses, 6 lines pasted; 2 syllables have no note; they are printed after the tab',
    );
    expect(pasted.effects).toHaveLength(1);
    expect(unsavedCount(now)).toBe(1);
    expect(press(now, 'escape', 'u').state.edited.take.words).toEqual([]);
    const long = 'la '.repeat(1500);
    expect(press(state, 'w', `paste:${long}`, 'enter').state.edited.take.words).toHaveLength(1500);
  });

  it('are pasted line by line with Windows line ends, too', () => {
    const lines = (text: string) => press(state, 'w', `paste:${text}`, 'enter').state;
    const wanted = ['a', 'b', 'c', 'd'];
    // Some terminals send a carriage return for each of the two characters.
    for (const text of ['a b c\r\rd\r\r', 'a b c\r\nd\r\n', 'a b c\rd\r', 'a b c\nd']) {
      const now = lines(text);
      expect(under(now).map(([, syllable]) => syllable)).toEqual(wanted);
      expect(now.edited.take.words.every(({ verse }) => verse === 1)).toBe(true);
    }
    expect(lines('a\r\rb\r\r\r\rc\r\rd').edited.take.words.map(({ verse }) => verse)).toEqual([1, 1, 2, 2]);
    expect(lines('a\rb\r\rc\rd').edited.take.words.map(({ verse }) => verse)).toEqual([1, 1, 2, 2]);
  });

  it('are joined by a key that every keyboard has', () => {
    expect(under(press(state, 'w', ...'of=the', 'enter').state)).toEqual([['n1', 'of the']]);
  });

  const answer = (of: string, text: string, language: string) =>
    ({ kind: 'words-split', of, text, language, at: AT }) as const;
  it('are split outside the screen, and not replaced if the line has changed by then', () => {
    const asked = press(state, 'w', ...'Susanna', 'tab');
    expect(asked.effects).toEqual([{ kind: 'split-words', text: 'Susanna', language: null }]);
    const split = reduce(asked.state, answer('Susanna', 'Su-san-na', 'de')).state;
    expect(split.mode).toMatchObject({ text: 'Su-san-na', caret: 9 });
    expect(reduce(press(asked.state, 'escape').state, answer('Susanna', 'x', 'de')).state.mode.kind).toBe(
      'notes',
    );
    const more = press(asked.state, 's').state;
    expect(reduce(more, answer('Susanna', 'Su-san-na', 'de')).state).toBe(more);
    // Again goes on from the line as it was; another line begins with the same language.
    expect(press(split, 'tab').effects).toEqual([{ kind: 'split-words', text: 'Susanna', language: 'fr' }]);
    expect(press(split, 'down', ...'Rosa', 'tab').effects).toEqual([
      { kind: 'split-words', text: 'Rosa', language: 'de' },
    ]);
  });

  it('are split in all pasted lines, still in one change', () => {
    const pasted = press(state, 'w', ...'O', 'paste:Susanna\rmy dear\r');
    expect(pasted.state.mode).toMatchObject({ text: 'O Susanna' });
    const asked = press(pasted.state, 'tab');
    expect(asked.effects).toEqual([{ kind: 'split-words', text: 'Susanna\rmy dear\r', language: null }]);
    const split = reduce(asked.state, answer('Susanna\rmy dear\r', 'Su-sanna\rmy dear\r', 'en'));
    expect(under(split.state).map(([, text]) => text)).toEqual(['O', 'Su-', 'sanna', 'my', 'dear']);
    expect(split.effects.map((effect) => effect.kind === 'journal' && effect.edit.what)).toEqual([
      'undo',
      'verses',
    ]);
    const again = reduce(
      press(split.state, 'tab').state,
      answer('Susanna\rmy dear\r', 'Susan-na\rmy dear\r', 'de'),
    );
    expect(under(again.state).map(([, text]) => text)).toEqual(['O', 'Susan-', 'na', 'my', 'dear']);
    expect(under(press(again.state, 'escape', 'u').state)).toEqual([]);
  });

  it('undo nothing else if the paste changed nothing', () => {
    const changed = press(state, 'x', 'w').state;
    const pasted = press(changed, 'paste:*\r*', 'tab');
    const { text } = pasted.effects[0] as { text: string };
    const split = reduce(pasted.state, answer(text, text, 'en'));
    expect(split.effects).toEqual([]);
    expect(tabs(split.state)).toBe(tabs(changed));
  });

  it('show no message if a line is left unchanged', () => {
    expect(press(state, 'w', 'enter').state.message).toBeNull();
  });
});

describe('ending', () => {
  const state = open(notesOf(['4 -4']));
  it('asks only if something is not saved', () => {
    expect(press(state, 'q').effects).toEqual([{ kind: 'quit', journal: 'clear' }]);
    const changed = press(state, 'x').state;
    expect(press(changed, 'q').effects).toEqual([]);
    expect(press(changed, 'q').state.mode.kind).toBe('quit');
    expect(press(changed, 'q', 'enter').effects).toEqual([{ kind: 'save', thenQuit: true }]);
    expect(press(changed, 'q', 'k').effects).toEqual([{ kind: 'quit', journal: 'keep' }]);
    // No slip of a finger throws anything away.
    expect(press(changed, 'q', 'd', 'enter').effects).toEqual([]);
    expect(press(changed, 'q', ...'discart', 'enter').effects).toEqual([]);
    expect(press(changed, 'q', ...'discard').effects).toEqual([]);
    expect(press(changed, 'q', ...'discard', 'enter').effects).toEqual([{ kind: 'quit', journal: 'clear' }]);
    expect(press(changed, 'q', ...'dis', 'escape', 'escape').state.mode.kind).toBe('notes');
    expect(press(changed, 'q', 'escape').state.mode.kind).toBe('notes');
  });

  it('counts unsaved changes', () => {
    const changed = press(state, 'x').state;
    expect(unsavedCount(changed)).toBe(1);
    // Undone to what is saved is saved.
    expect(unsavedCount(press(changed, 'u').state)).toBe(0);
    expect(press(changed, 'u', 'q').effects).toEqual([{ kind: 'quit', journal: 'clear' }]);
    expect(unsavedCount(press(changed, 'u', 'x').state)).toBe(3);
    const kept = reduce(changed, { kind: 'saved', edits: 1 }).state;
    expect(unsavedCount(kept)).toBe(0);
    expect(unsavedCount(press(kept, 'u').state)).toBe(1);
    expect(unsavedCount(press(kept, 'u', 'r').state)).toBe(0);
  });

  it('returns to the notes if saving failed', () => {
    const asked = press(state, 'x', 'q').state;
    const failed = reduce(asked, { kind: 'failed', text: 'not saved: the disk is full' }).state;
    expect(failed).toMatchObject({ mode: { kind: 'notes' }, message: { tone: 'alert' } });
    expect(unsavedCount(failed)).toBe(1);
  });
});

describe('hearing', () => {
  it('cautions once, then plays', () => {
    const state: UiState = { ...open(notesOf(['4 -4'])), recording: 'ready' };
    const asked = press(state, 'p');
    expect(asked.effects).toEqual([]);
    expect(asked.state.message?.text).toContain('headphones');
    expect(press(asked.state, 'p').effects).toMatchObject([
      { kind: 'play', what: 'recording', fromSec: 0.45, stretch: 1, loop: false },
    ]);
    expect(press(asked.state, 'e', 'e', 'l').effects).toMatchObject([{ stretch: 2, loop: true }]);
    expect(press(asked.state, 't', 'f').effects).toMatchObject([{ what: 'tab' }]);
    expect(press(asked.state, 't', 't', 'f').effects).toMatchObject([{ what: 'both' }]);
    expect(press(asked.state, 'f', 'escape').effects).toEqual([{ kind: 'stop' }]);
  });

  it('moves along with the sound, and stops there or goes back', () => {
    const state: UiState = { ...open(notesOf(['4 -4 5'])), recording: 'ready', cautioned: true };
    const playing = press(state, 'g').state;
    const there = reduce(playing, { kind: 'playhead', sec: 1.4 }).state;
    expect(there.at).toBe(2);
    expect(press(there, 'escape').state).toMatchObject({ at: 0, playing: null });
    expect(press(there, 'enter').state).toMatchObject({ at: 2, playing: null });
    expect(reduce(there, { kind: 'played', failure: 'aplay could not play' }).state).toMatchObject({
      at: 0,
      message: { tone: 'alert' },
    });
  });

  it('plays what is typed, if that is switched on', () => {
    const state: UiState = { ...open(notesOf(['4 -4 5'])), recording: 'ready' };
    expect(press(state, '5').effects.map(({ kind }) => kind)).toEqual(['journal']);
    expect(press(state, 'z', '5').effects).toMatchObject([
      { kind: 'journal' },
      { kind: 'play', what: 'tab' },
    ]);
  });

  it('is not offered without a player', () => {
    const state: UiState = { ...open(notesOf(['4 -4'])), recording: 'ready', hasPlayer: false };
    expect(keysNow(state).some(({ group }) => group === 'Hear')).toBe(false);
    expect(press(state, 'p').state.message?.text).toMatch(/^no sound player/);
  });

  it('says why if there is nothing to hear', () => {
    const state = open(notesOf(['4 -4']));
    expect(press(state, 'p').state.message?.text).toBe('the recording is still being read');
    // Without a recording the tab sounds.
    const missing: UiState = { ...state, recording: 'missing', cautioned: true };
    expect(press(missing, 'l').effects).toMatchObject([{ what: 'tab' }]);
    expect(press(state, 'x', 'x', 'p').state.message?.text).toBe('there are no notes to play');
  });
});

describe('any keys', () => {
  const start: UiState = { ...open(withMistakes()), cautioned: true };
  const all = [
    ...new Set(
      ['', 'w', 'h', '?', 'q']
        .flatMap((mode) => keysNow(press(start, ...(mode === '' ? [] : [mode])).state))
        .flatMap(({ keys }) => keys),
    ),
    'z',
    '日',
    'ctrl-a',
  ];
  it('leave a valid take with a current note, and undoing everything restores the first state', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...all), { maxLength: 60 }), (keys) => {
        let { state } = press(start, ...keys);
        checkTake(state.edited.take, 'x');
        expect(state.at).toBeLessThan(Math.max(1, state.edited.take.notes.length));
        state = { ...state, mode: { kind: 'notes' } };
        while (state.edited.done.length > 0) state = press(state, 'u').state;
        expect({ ...state.edited.take, edits: [] }).toEqual(start.edited.take);
      }),
      { numRuns: 60 },
    );
  });
});

describe('a new harp', () => {
  const state = open(notesOf(['4 -4 5', '6 -6', '7']));
  const chosen = press(state, 'h', 'right', 'enter');
  it('is shown first, and its notes are read in one change when the screen is drawn', () => {
    expect(chosen.effects).toEqual([{ kind: 'read-notes' }]);
    expect(chosen.state.edited).toBe(state.edited);
    expect(chosen.state.message?.text).toMatch(/^reading all notes on the \S+ harp…$/);
    const event = { kind: 'read-notes', at: '2026-11-25T12:00:00.000Z' } as const;
    const read = reduce(chosen.state, event);
    expect(read.effects).toMatchObject([{ kind: 'journal', edit: { what: 'harp' } }]);
    expect(read.state.edited.take.harp.key).not.toBe(state.edited.take.harp.key);
    expect(unsavedCount(read.state)).toBe(1);
    expect(reduce(read.state, event)).toEqual({ state: read.state, effects: [] });
    expect(tabs(press(read.state, 'u').state)).toBe(tabs(state));
  });

  it('is read while the player is choosing, and the result is used if it is chosen', () => {
    const looking = press(state, 'h', 'right');
    const [asked] = looking.effects;
    if (asked?.kind !== 'read-ahead') throw new Error('nothing asked for');
    const { take, harp } = asked;
    expect(take).toBe(state.edited.take);
    const read = diffTakes(take, changeTake(take, { kind: 'harp', harp }));
    const event = { kind: 'read-notes', at: AT } as const;
    const ahead = { kind: 'read-ahead', ahead: { of: take, harp, patch: read } } as const;
    const meanwhile = reduce(looking.state, ahead).state;
    const used = reduce(press(meanwhile, 'enter').state, event);
    expect((used.effects[0] as Effect & { kind: 'journal' }).edit).toHaveProperty('patch', read);
    const plain = reduce(press(looking.state, 'enter').state, event).state;
    expect(used.state.edited.take).toEqual(plain.edited.take);
    expect(press(used.state, 'u').state.edited.take.notes).toEqual(state.edited.take.notes);
    // Gone on to another harp meanwhile.
    const other = reduce(press(meanwhile, 'right', 'enter').state, event);
    expect(other.state.edited.take.harp.key).not.toBe(used.state.edited.take.harp.key);
  });

  it('is not waited for by keys that only move', () => {
    const moved = press(chosen.state, 'right', 'down', '?');
    expect(moved.effects).toEqual([]);
    expect(moved.state).toMatchObject({ newHarp: chosen.state.newHarp, at: 3, mode: { kind: 'help' } });
    const read = reduce(moved.state, { kind: 'read-notes', at: AT });
    expect(read.effects).toMatchObject([{ kind: 'journal', edit: { what: 'harp' } }]);
    expect(read.state).toMatchObject({ at: 3, newHarp: null });
  });

  it('is read before the next key, which is not lost', () => {
    const asked = press(chosen.state, 'q');
    expect(asked.state.mode.kind).toBe('quit');
    expect(unsavedCount(asked.state)).toBe(1);
    expect(asked.effects).toMatchObject([{ kind: 'journal', edit: { what: 'harp' } }]);
    expect(press(chosen.state, 'u').state.edited.take.harp).toEqual(state.edited.take.harp);
  });
});
