import { describe, expect, it } from 'vitest';
import { phrasesOf, variationsInWords } from '../../src/export/repeats.ts';
import { buildScore } from '../../src/export/score.ts';
import { composeSheet } from '../../src/export/sheet/pages.ts';
import { writeTab } from '../../src/export/tab.ts';
import { setMusic } from '../../src/take/edits/set-music.ts';
import { buildPhrases } from '../../src/take/music.ts';
import type { Take } from '../../src/take/schema.ts';
import { playTune } from './tunes.ts';

const WORDS = 'a b c d\ne f g h\ni j k\nl m n\no p q r s t\nu v w x y z\na b c\nd e f';
const { take } = playTune('brother-john');
const worded = setMusic(take, {
  beats: { metre: { count: 4, unit: 4 } },
  words: { text: WORDS, language: null },
}).take;
const TAB = { style: 'signs', columns: 80, lengths: false } as const;

describe('a line that is repeated note for note', () => {
  it('is written in full, with what it repeats', () => {
    const text = writeTab(buildScore(worded, 'x'), TAB);
    expect(text).toContain('# 2 (A): as line 1\n4 -4 5 4\ne f  g h\n');
  });

  it('is written once if asked for, with its words', () => {
    const text = writeTab(buildScore(worded, 'x'), { ...TAB, repeats: 'once' });
    expect(text).toContain('# 2 (A): as line 1\n# e f g h\n');
    expect(text.match(/^4 -4 5 4$/gm)).toHaveLength(1);
  });

  it('leaves its staff out of the sheet, too', async () => {
    const score = buildScore(worded, 'x');
    const texts = async (repeats: 'full' | 'once') => {
      const { pages } = await composeSheet(score, { style: 'signs', paper: 'long', by: null, repeats });
      return pages.flatMap(({ marks }) => marks).flatMap((mark) => (mark.kind === 'text' ? [mark.text] : []));
    };
    const full = await texts('full');
    const once = await texts('once');
    expect(once).toContain('2 (A): as line 1');
    expect(once).toContain('e f g h');
    expect(full).not.toContain('2 (A): as line 1');
    const tabs = (all: string[]) => all.filter((text) => /^−?\d+$/.test(text)).length;
    expect(tabs(full) - tabs(once)).toBe(4 + 3 + 6 + 3);
  });
});

describe('consecutive lines that repeat consecutive lines', () => {
  const again = (shiftSec: number, prefix: string) =>
    take.notes.slice(4, 11).map((note) => ({
      ...note,
      id: `${prefix}${note.id}`,
      onsetSec: note.onsetSec + shiftSec,
      offsetSec: note.offsetSec + shiftSec,
    }));
  const lengthSec = take.notes[10].offsetSec - take.notes[4].onsetSec + 0.5;
  const notes = [...again(0, 'a'), ...again(lengthSec, 'b'), ...again(2 * lengthSec, 'c')];
  const phrases = buildPhrases(
    notes,
    [0, 7, 14].flatMap((first) => [
      { firstNote: first, lastNote: first + 3 },
      { firstNote: first + 4, lastNote: first + 6 },
    ]),
  );
  const told = (names: readonly (string | undefined)[]) => {
    const named = phrases.map((phrase, i) =>
      names[i] === undefined ? phrase : { ...phrase, name: names[i] },
    );
    return writeTab(buildScore({ ...take, notes, phrases: named, beats: {}, words: [] }, 'x'), {
      ...TAB,
      repeats: 'once',
    });
  };

  it('are reported together', () => {
    expect(told([])).toContain('# 3 to 4 (A B): as lines 1 to 2\n\n# 5 to 6 (A B): as lines 1 to 2\n');
  });

  it('are reported section by section', () => {
    const text = told(['verse', undefined, 'verse 2', undefined, 'verse 3']);
    expect(text).toContain('# 3 to 4 (A B), verse 2: as lines 1 to 2\n');
    expect(text).toContain('# 5 to 6 (A B), verse 3: as lines 1 to 2\n');
    expect(told(['verse', undefined, 'bridge', 'verse'])).toContain('# 3 (A), bridge, line 1: as line 1\n');
  });
});

describe('a line of a later verse that differs', () => {
  /** Two verses of two lines; in the second the last note but one is held, so that the last is not struck. */
  function twoVerses(): Take {
    const { notes } = take;
    const phrases = buildPhrases(notes, [
      { firstNote: 0, lastNote: 3 },
      { firstNote: 4, lastNote: 7 },
    ]);
    return { ...take, notes: notes.slice(0, 8), phrases, beats: {}, words: [] };
  }

  it('is named by verse and line', () => {
    const base = twoVerses();
    const notes = base.notes.map((note, i) =>
      i === 6
        ? { ...note, ...base.notes[5], id: note.id, onsetSec: note.onsetSec, offsetSec: note.offsetSec }
        : note,
    );
    const phrases = buildPhrases(notes, base.phrases).map((phrase, i) => ({
      ...phrase,
      name: `verse ${i + 1}`,
    }));
    const score = buildScore({ ...base, notes, phrases }, 'x');
    expect(variationsInWords(score, 'signs')).toEqual([
      'verse 2, line 1 differs from verse 1: note 3 is -4 (there 5)',
    ]);
    expect(phrasesOf(score, 'signs')[1].remark).toBe(
      "2 (A'), verse 2, line 1: as line 1, but note 3 is -4 (there 5)",
    );
  });

  it('says where a note is held and where it is struck again', () => {
    const [a, b, c, d] = take.notes;
    const at = (note: (typeof take.notes)[number], i: number) => ({
      ...note,
      id: `n${i}`,
      onsetSec: i,
      offsetSec: i + 0.9,
    });
    const notes = [a, b, b, c, d, a, b, c, d].map(at);
    const lines = [
      { firstNote: 0, lastNote: 4 },
      { firstNote: 5, lastNote: 8 },
    ];
    const named = (of: Take['notes'], parts: typeof lines): Take => ({
      ...take,
      notes: of,
      beats: {},
      words: [],
      phrases: buildPhrases(of, parts).map((phrase, i) => ({ ...phrase, name: `verse ${i + 1}` })),
    });
    expect(variationsInWords(buildScore(named(notes, lines), 'x'), 'signs').join()).toContain('-4 is held');
    const other = [a, b, c, d, a, b, b, c, d].map(at);
    const otherLines = [
      { firstNote: 0, lastNote: 3 },
      { firstNote: 4, lastNote: 8 },
    ];
    expect(variationsInWords(buildScore(named(other, otherLines), 'x'), 'signs').join()).toContain(
      '-4 is struck twice',
    );
  });
});
