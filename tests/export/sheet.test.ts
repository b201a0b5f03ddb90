import { XMLParser } from 'fast-xml-parser';
import { describe, expect, it } from 'vitest';
import { writeMusicXml } from '../../src/export/musicxml/musicxml.ts';
import { accidentalsOf } from '../../src/export/notation/accidentals.ts';
import { type Bar, buildBars, buildLines } from '../../src/export/notation/bars.ts';
import { linesOf, phrasesOf } from '../../src/export/repeats.ts';
import { buildScore } from '../../src/export/score.ts';
import type { Block } from '../../src/export/sheet/block.ts';
import { widthOf } from '../../src/export/sheet/fonts.ts';
import { composeSheet, PAPERS } from '../../src/export/sheet/pages.ts';
import { onEvenPages, onPages, type PageOfBlocks } from '../../src/export/sheet/paging.ts';
import { sheetPdf } from '../../src/export/sheet/pdf.ts';
import { pageSvg } from '../../src/export/sheet/svg.ts';
import { barTicks } from '../../src/music/rhythm/metre.ts';
import { buildBeats } from '../../src/take/music.ts';
import type { Take } from '../../src/take/schema.ts';
import { buildTake } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleNote } from '../take/example.ts';
import { AMAZING_GRACE, playTune, withWords } from './tunes.ts';

/** A take of this tab on a C harp, a note a second. */
function takeOf(tab: string) {
  const notes = tab.split(' ').map((text, i) => exampleNote(text, i, `n${i}`));
  const phrases = [{ firstNote: 0, lastNote: notes.length - 1 }];
  const harp = {
    key: 'C',
    tuning: 'richter',
    temperament: 'equal',
    a4Hz: 440,
    confidence: 1,
    alternatives: [],
  };
  return buildTake({ ...EXAMPLE_SOURCE, durationSec: notes.length + 1 }, { harp, notes, phrases });
}

/** Its notes as quarter notes of one bar. */
function barOf(tab: string): Bar {
  const symbols = buildScore(takeOf(tab), 'x').notes.map((note) => ({
    note,
    ticks: 12,
    type: 'quarter' as const,
    dots: 0 as const,
    tiedFrom: false,
    tiedTo: false,
    triplet: null,
  }));
  return {
    symbols,
    ticks: 12 * symbols.length,
    offsetTicks: 0,
    pickup: false,
    open: false,
    startsLine: true,
    endsPhrase: true,
  };
}

describe('accidentals (E. Gould, Behind Bars, "Accidentals")', () => {
  it('distinguish a bend from its hole, last to the end of the bar and are cancelled in it', () => {
    // On a C harp -4 is D5, -4' is Db5, -3' is Bb4 and -3 B4.
    expect(accidentalsOf(barOf("-4 -4' -4' -4 -3 -3'").symbols, 0)).toEqual([
      [null],
      ['flat'],
      [null],
      ['natural'],
      [null],
      ['flat'],
    ]);
    // D major has no C, and one accidental holds for its own octave only: 4 is C5, 7 is C6.
    expect(accidentalsOf(barOf('4 4 7').symbols, 2)).toEqual([['natural'], [null], ['natural']]);
  });

  it('are absent for notes of the signature, and after a tie', () => {
    const score = { ...buildScore(playTune('amazing-grace').take, 'x'), fifths: 1 };
    expect(
      buildBars(score)
        .flatMap((bar) => accidentalsOf(bar.symbols, 1))
        .flat()
        .filter((sign) => sign !== null),
    ).toEqual([]);
  });
});

describe('lines', () => {
  const score = buildScore(playTune('amazing-grace').take, 'Amazing Grace');

  it('begin with their pick-up, with the bars cut in two', () => {
    const lines = buildLines(score);
    // Four lines of eight bars of 3/4 that begin on the third beat (as printed in any hymnal).
    expect(lines).toHaveLength(4);
    for (const line of lines.slice(0, 3)) {
      expect(line[0].offsetTicks).toBe(24);
      expect(line[line.length - 1].open).toBe(true);
    }
    const ticks = (bars: readonly { ticks: number }[]) => bars.reduce((sum, bar) => sum + bar.ticks, 0);
    expect(ticks(lines.flat())).toBe(ticks(buildBars(score)));
  });

  it('in free time a long note is one symbol', () => {
    const take = takeOf('4 -4 5 -5 6 -6 7');
    const [first, ...rest] = take.notes;
    const later = rest.map((note) => ({
      ...note,
      onsetSec: note.onsetSec + 9,
      offsetSec: note.offsetSec + 9,
    }));
    const notes = [{ ...first, offsetSec: 9.7 }, ...later];
    const score = buildScore({ ...take, notes, beats: buildBeats(notes, { free: true }) }, 'x');
    const [bar] = buildBars(score);
    expect(bar.symbols.map(({ note }) => note?.played.id)).toEqual(notes.map(({ id }) => id));
    expect(bar.symbols[0].type).toBe('breve');
  });
});

describe('long lines', () => {
  const tabs = Array.from({ length: 40 }, (_, i) => ['4', '-4', '5+6', "-3''"][i % 4]).join(' ');
  const free = (take: Take) => ({ ...take, beats: buildBeats(take.notes, { free: true }) });

  it('are shown as several, but stay one phrase in the take, in tab and for notation programs', () => {
    const score = buildScore(free(takeOf(tabs)), 'x');
    const lines = linesOf(score, 'signs');
    expect(lines.map(({ name }) => name)).toEqual(['1a', '1b', '1c']);
    expect(lines.map(({ first }) => first).slice(1)).toEqual(lines.slice(0, -1).map(({ last }) => last + 1));
    expect(lines[2].last).toBe(39);
    for (const { first, last } of lines) expect(last - first + 1).toBeGreaterThan(8);
    // The page finds the staff of a line by its place.
    expect(buildLines(score).map((bars) => bars[0].symbols[0].note?.index)).toEqual(
      lines.map(({ first }) => first),
    );
    expect(phrasesOf(score, 'signs')).toHaveLength(1);
    expect(buildBars(score)).toHaveLength(1);
  });

  it('break after a long note and at the beginning of a bar', () => {
    const take = takeOf(tabs);
    const notes = take.notes.map((note, i) =>
      i < 15 ? note : { ...note, onsetSec: note.onsetSec + 2, offsetSec: note.offsetSec + 2 },
    );
    const score = buildScore(free({ ...take, notes }), 'x');
    expect(linesOf(score, 'signs')[1].first).toBe(15);
    const beats = buildBeats(take.notes, { metre: { count: 4, unit: 4 }, tempoBpm: 60, pickupTicks: 0 });
    const barred = buildScore({ ...take, beats }, 'x');
    expect(barred.beats.metre).not.toBeNull();
    for (const { first } of linesOf(barred, 'signs'))
      expect(barred.notes[first].atTicks % barTicks(barred.beats.metre!)).toBe(0);
  });

  it('keep accidentals where a line continues without a bar line', () => {
    const score = { ...buildScore(free(takeOf("-3' 4 -4 5 -3' -3 4")), 'x'), fifths: 0 };
    const [bars] = buildLines(score);
    expect(bars.map(({ open }) => open)).toEqual([true, false]);
    const xml = writeMusicXml(score, { style: 'signs', part: { bars, first: true, spaceFor: () => 'n' } });
    expect(xml.match(/<accidental>[^<]*/g)).toEqual(['<accidental>flat', '<accidental>natural']);
  });

  it('stop at once when interrupted', async () => {
    const stop = new AbortController();
    stop.abort();
    const sheet = composeSheet(buildScore(takeOf(tabs), 'x'), {
      style: 'signs',
      paper: 'a4',
      by: null,
      signal: stop.signal,
    });
    await expect(sheet).rejects.toMatchObject({ code: 'E_INTERRUPTED' });
  });
});

describe('pages', () => {
  it('are equally full if the last had little on it, and no block is lost', () => {
    const block = (height: number, text: string, withNext = false): Block => ({
      height,
      gap: 10,
      marks: [{ kind: 'text', text, x: 0, y: 0, size: 10, bold: false, anchor: 'start' }],
      withNext,
    });
    const blocks = [...'abcdefghi'].map((name) => block(100, name));
    const texts = (pages: readonly PageOfBlocks[]) =>
      pages.map(({ marks }) => marks.map((mark) => (mark.kind === 'text' ? mark.text : '')).join(''));
    expect(texts(onPages(blocks, 900))).toEqual(['abcdefgh', 'i']);
    expect(texts(onEvenPages(blocks, 900))).toEqual(['abcde', 'fghi']);
    expect(texts(onEvenPages(blocks.slice(0, 8), 900))).toEqual(['abcdefgh']);
  });

  it('keep sections whole where that takes no more pages', () => {
    const block = (text: string, beginsSection: boolean): Block => ({
      height: 100,
      gap: 10,
      marks: [{ kind: 'text', text, x: 0, y: 0, size: 10, bold: false, anchor: 'start' }],
      beginsSection,
    });
    const texts = (sections: string, room: number) =>
      onEvenPages(
        sections.split(' ').flatMap((names) => [...names].map((name, i) => block(name, i === 0))),
        room,
      ).map(({ marks }) => marks.map((mark) => (mark.kind === 'text' ? mark.text : '')).join(''));
    expect(texts('abcd efg', 660)).toEqual(['abcd', 'efg']);
    expect(texts('abcde fghij k', 660)).toEqual(['abcde', 'fghijk']);
    expect(texts('abc def ghi j', 440)).toHaveLength(3);
  });

  const words = Array.from({ length: 5 }, () => AMAZING_GRACE.split('\n\n')[0]).join('\n\n');
  const take = withWords(playTune('amazing-grace').take, words);
  const lines = take.phrases.length;
  /** As long as ten minutes of playing. */
  const notes = Array.from({ length: 15 }, (_, k) =>
    take.notes.map((note) => ({
      ...note,
      id: `${note.id}-${k}`,
      onsetSec: note.onsetSec + 40 * k,
      offsetSec: note.offsetSec + 40 * k,
    })),
  ).flat();
  const phrases = Array.from({ length: 15 }, (_, k) =>
    take.phrases.map(({ firstNote, lastNote }) => ({
      firstNote: firstNote + k * take.notes.length,
      lastNote: lastNote + k * take.notes.length,
    })),
  ).flat();
  const long = { ...take, notes, phrases, words: [], beats: {} };

  it.each(['a4', 'letter'] as const)(
    'hold ten minutes without cutting anything off (%s)',
    async (paper) => {
      const { width, height } = PAPERS[paper];
      const sheet = await composeSheet(buildScore(long, 'Ten minutes'), { style: 'signs', paper, by: null });
      expect(sheet.log).toBe('');
      expect(sheet.pages.length).toBeGreaterThan(lines);
      let tabs = 0;
      for (const page of sheet.pages) {
        expect([page.width, page.height]).toEqual([width, height]);
        for (const mark of page.marks) {
          if (mark.kind !== 'text') continue;
          const wide = widthOf(mark.text, mark.size, mark.bold ? 'bold' : 'regular');
          const left = mark.x - (mark.anchor === 'middle' ? wide / 2 : mark.anchor === 'end' ? wide : 0);
          expect(left).toBeGreaterThan(20);
          expect(left + wide).toBeLessThan(width - 20);
          expect(mark.y).toBeLessThan(height - 18);
          if (mark.size === 15) tabs++;
        }
      }
      expect(tabs).toBe(notes.length);
    },
    120_000,
  );

  it('have tab in a row or right under its note: below the staff and its notes, above the words', async () => {
    const low = withWords(playTune('auld-lang-syne').take, 'one two three four five six seven eight');
    const levels = async (place: 'row' | 'notes') => {
      const { pages } = await composeSheet(buildScore(low, 'x'), {
        style: 'signs',
        paper: 'a4',
        by: null,
        place,
      });
      const texts = pages[0].marks.flatMap((mark) => (mark.kind === 'text' ? [mark] : []));
      const word = texts.find(({ text }) => text === 'one')!;
      const above = texts.filter(({ size, y }) => size === 15 && y < word.y && y > word.y - 60);
      return { word: word.y, tabs: above.map(({ y }) => y) };
    };
    const [row, notes] = [await levels('row'), await levels('notes')];
    expect(new Set(row.tabs).size).toBe(1);
    expect(new Set(notes.tabs).size).toBeGreaterThan(1);
    expect(notes.tabs).toHaveLength(row.tabs.length);
    expect(Math.max(...notes.tabs)).toBeLessThan(notes.word);
    expect(Math.min(...notes.tabs)).toBeLessThan(row.tabs[0]);
  });

  it.each(['row', 'notes'] as const)(
    'keep tab of several holes apart from its neighbours (%s)',
    async (place) => {
      const tabs = [
        '7 6+7+8 7 -1+2+3+4 -4 -1+4 1 10 -9+10 10 6+7+8 7',
        "-3'' 2+3+4+5 3 -2+3 -2w3 -4 4+5+6 -4 -4+5",
      ];
      for (const tab of [...tabs, `${tabs[1]} ${tabs[0]} ${tabs[1]}`]) {
        const { pages } = await composeSheet(buildScore(takeOf(tab), 'x'), {
          style: 'signs',
          paper: 'a4',
          by: null,
          place,
        });
        const ends = new Map<number, number>();
        let seen = 0;
        for (const mark of pages.flatMap(({ marks }) => marks)) {
          if (mark.kind !== 'text' || !mark.bold || mark.size !== 15) continue;
          const half = widthOf(mark.text, mark.size, 'bold') / 2;
          // In a row all are at one height; right under their notes they may pass one another.
          const before = ends.get(mark.y) ?? Number.NEGATIVE_INFINITY;
          expect(mark.x - half - before, `${mark.text} after what stands before it`).toBeGreaterThan(3);
          ends.set(mark.y, mark.x + half);
          seen++;
        }
        expect(seen).toBe(tab.split(' ').length);
      }
    },
  );

  it('have all lines of one system as wide as the page', async () => {
    const { pages } = await composeSheet(buildScore(playTune('amazing-grace').take, 'x'), {
      style: 'signs',
      paper: 'a4',
      by: null,
    });
    // Each line of a staff is drawn bar by bar, level; how far the five of each system reach.
    const ends = new Map<string, number>();
    for (const mark of pages[0].marks) {
      const [, y, right, end] =
        (mark.kind === 'path' && /^M[\d.]+ ([\d.]+) ?L([\d.]+) ([\d.]+)$/.exec(mark.d)) || [];
      if (y !== undefined && y === end) ends.set(y, Math.max(ends.get(y) ?? 0, Number(right)));
    }
    const staves = [...ends.values()].filter((right) => right > 300);
    expect(staves).toHaveLength(5 * 4);
    for (const right of staves) expect(Math.abs(right - (PAPERS.a4.width - 45))).toBeLessThan(1);
  });

  it('put the first of more than three verses under the notes, and the others after them as text', async () => {
    const sheet = await composeSheet(buildScore(take, 'x'), {
      style: 'signs',
      paper: 'a4',
      by: 'traditional',
    });
    const texts = sheet.pages[0].marks.flatMap((mark) => (mark.kind === 'text' ? [mark.text] : []));
    expect(texts.filter((text) => text === 'wretch')).toHaveLength(1);
    expect(texts).toEqual(expect.arrayContaining(['traditional', 'Verse 2', 'Verse 5', 'The notes used']));
    expect(texts.join(' ')).toContain('C harp, Richter · 2nd position (cross) · keynote G · 3/4');
  });

  it('the PDF has as many pages, fonts inside, and is the same each time', async () => {
    const sheet = await composeSheet(buildScore(take, 'Ünïcode ↑ Ж'), {
      style: 'arrows',
      paper: 'letter',
      by: null,
    });
    const pdf = Buffer.from(await sheetPdf(sheet));
    const text = pdf.toString('latin1');
    expect(text.startsWith('%PDF-1.')).toBe(true);
    expect(text.match(/\/Type \/Page\b(?!s)/g)).toHaveLength(sheet.pages.length);
    expect(text.match(/\/FontFile[23]/g)?.length).toBeGreaterThanOrEqual(2);
    expect(sheet.missing).toEqual([]);
    expect(Buffer.from(await sheetPdf(sheet)).equals(pdf)).toBe(true);
  });

  it('as a picture have embedded fonts and no address', async () => {
    const sheet = await composeSheet(buildScore(take, 'x'), { style: 'signs', paper: 'a4', by: null });
    const svg = pageSvg(sheet, sheet.pages[0]);
    expect(new XMLParser().parse(svg).svg).toBeDefined();
    expect(svg.replaceAll(/http:\/\/www\.w3\.org\/(?:2000\/svg|1999\/xlink)/g, '')).not.toMatch(/https?:/);
    expect(svg).toContain('src:url(data:font/woff;base64,');
  });
});
