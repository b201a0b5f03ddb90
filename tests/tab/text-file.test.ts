import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { playableNotes } from '../../src/harp/playable.ts';
import { formatTabNote, legend, TAB_STYLES } from '../../src/tab/text.ts';
import { formatTab, parseTab, type TabItem } from '../../src/tab/text-file.ts';

const notesOf = (text: string, style?: 'signs' | 'letters' | 'arrows') =>
  parseTab(text, style).phrases.map((items) =>
    items.flatMap((item) => (item.kind === 'note' ? [formatTabNote(item.note)] : [])).join(' '),
  );

describe('tab files', () => {
  it('reads lines as phrases, with lengths, rests, slurs and bars', () => {
    const { phrases, words } = parseTab("# mine\n4:0.5 ~-4:1/2 | r:1 -3'' ||\n\n5,-5; 6\r\n");
    expect(words).toEqual([]);
    expect(phrases).toHaveLength(2);
    expect(phrases[0]).toEqual([
      {
        kind: 'note',
        note: { hole: 4, breath: 'blow', bend: 0, over: false },
        beats: 0.5,
        slurred: false,
        line: 2,
        column: 1,
      },
      {
        kind: 'note',
        note: { hole: 4, breath: 'draw', bend: 0, over: false },
        beats: 0.5,
        slurred: true,
        line: 2,
        column: 7,
      },
      { kind: 'bar', line: 2, column: 15 },
      { kind: 'rest', beats: 1, line: 2, column: 17 },
      {
        kind: 'note',
        note: { hole: 3, breath: 'draw', bend: 2, over: false },
        beats: null,
        slurred: false,
        line: 2,
        column: 21,
      },
      { kind: 'bar', line: 2, column: 26 },
    ]);
    expect(notesOf('4|-4|5 - -5 -- 6 |: 4 :|')).toEqual(['4 -4 5 -5 6 4']);
  });

  it('reads ornaments with slurs, holes at once and lengths', () => {
    const { phrases } = parseTab("~/-4+5~:2 -4w5 /-3''\\:0.5\n");
    expect(phrases[0].map((item) => ('ornaments' in item ? item.ornaments : undefined))).toEqual([
      ['scoop', 'vibrato'],
      undefined,
      ['scoop', 'fall'],
    ]);
    expect(() => parseTab('4 //5 6')).toThrow(/column 3: '\/\/5'/);
    expect(formatTab(phrases)).toBe("~/-4+5~:2 -4w5 /-3''\\:0.5\n");
  });

  it('reads printed tab', () => {
    const { phrases, words } = parseTab("[0:00]  4  -4  -3''\n                flat 9\n[1:02:03]  5");
    expect(phrases.map((items) => items.length)).toEqual([3, 1]);
    expect(words).toEqual([{ line: 2, text: 'flat 9' }]);
  });

  it('separates lines of words', () => {
    const text = `${legend()}\nOh, 2 miles to go\n6 6 -6 6\nhap py birth day\n`;
    const { phrases, words } = parseTab(text);
    expect(phrases).toHaveLength(1);
    expect(words.map(({ line }) => line)).toEqual([1, 2, 4]);
  });

  it.each([
    ['4 -4 11 5', /line 1, column 6: '11' is not tab/, /holes go from 1 to 10/],
    [`4 -4 4 ${'x'.repeat(3000)}`, /column 8: 'x{19}…x{19}' is not tab/, /holes go/],
    ['4 4 4\n4 -4 x5', /line 2, column 6: 'x5' is not tab/, /holes go/],
    ['4 5:0 6', /column 3: '5:0'/, /holes go/],
    ['4 5:1/0 6', /column 3: '5:1\/0'/, /holes go/],
    ['4B 4D 5B', /column 1: '4B' is not tab in the signs style/, /--tab-style letters/],
    ['4 4 5↓', /column 5: '5↓'/, /--tab-style arrows/],
    ['# nothing', /no notes/, /write notes/],
    ['words alone', /no notes/, /write notes/],
    ['| r:1 |', /no notes/, /write notes/],
  ])('%s: says where and what', (text, message, fix) => {
    expect(() => parseTab(text)).toThrow(
      expect.objectContaining({
        code: 'E_TAB_INVALID',
        message: expect.stringMatching(message),
        fix: expect.stringMatching(fix),
      }),
    );
  });

  it('does not confuse styles', () => {
    expect(notesOf('4B 4D', 'letters')).toEqual(['4 -4']);
    expect(() => parseTab('4 -4', 'letters')).toThrow(/'4' is not tab in the letters style/);
  });

  const harp = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });
  const beats = fc.option(fc.integer({ min: 1, max: 64 }).map((n) => n / 8));
  const note = fc.record({
    kind: fc.constant('note' as const),
    note: fc.constantFrom(...harp).map(({ hole, breath, bend, over }) => ({ hole, breath, bend, over })),
    beats,
    slurred: fc.boolean(),
  });
  const ornaments = fc.subarray(['scoop', 'vibrato', 'fall'] as const, { minLength: 1 });
  const ornamented = fc.tuple(note, ornaments).map(([plain, signs]) => ({ ...plain, ornaments: signs }));
  const item = fc.oneof(
    note,
    ornamented,
    fc.record({ kind: fc.constant('rest' as const), beats }),
    fc.record({ kind: fc.constant('bar' as const) }),
  );
  const phrase = fc.tuple(note, fc.array(item, { maxLength: 20 })).map(([first, rest]) => [first, ...rest]);

  it('reads back what was written', () => {
    fc.assert(
      fc.property(
        fc.array(phrase, { minLength: 1, maxLength: 5 }),
        fc.constantFrom(...TAB_STYLES),
        (tune, style) => {
          const text = formatTab(tune as unknown as TabItem[][], style);
          const read = parseTab(text, style).phrases.map((items) =>
            items.map(({ line: _line, column: _column, ...what }) => what),
          );
          expect(read).toEqual(tune);
        },
      ),
    );
  });
});
