import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { loadLanguage } from '../../../src/music/words/languages.ts';
import { alignWords } from '../../../src/music/words/underlay.ts';
import { parseVerses } from '../../../src/music/words/verses.ts';
import type { NoteStart } from '../../../src/tab/note.ts';

const english = await loadLanguage('en');
const starts = (text: string) => text.split(' ').map((start) => ({ start: start as NoteStart }));
const plain = (count: number) => Array.from({ length: count }, () => ({ start: 'breath' as const }));

describe('verses', () => {
  it('are separated by empty lines, with words split into syllables', () => {
    const verses = parseVerses('Oh Su-san-na\r\n# a remark\nbanjo on my knee\n\nsecond verse', english);
    expect(verses.map(({ lines }) => lines.map((line) => line.map(({ text }) => text)))).toEqual([
      [
        ['Oh', 'Su', 'san', 'na'],
        ['ban', 'jo', 'on', 'my', 'knee'],
      ],
      [['sec', 'ond', 'verse']],
    ]);
    expect(verses[0].lines[0].map(({ syllabic }) => syllabic)).toEqual(['single', 'begin', 'middle', 'end']);
  });

  it('are split alike however their accents are encoded', async () => {
    const spanish = await loadLanguage('es');
    const text = 'Según la canción, allá en el río, María y Raúl';
    expect(parseVerses(text.normalize('NFD'), spanish)).toEqual(parseVerses(text.normalize('NFC'), spanish));
  });

  it('may have holds, words sung on one note, and dashes', () => {
    const [{ lines }] = parseVerses('glo-__ri-a in~ex- cel _ – Deo', null);
    expect(lines[0]).toEqual([
      { text: 'glo', syllabic: 'begin', holds: 2 },
      { text: 'ri', syllabic: 'middle', holds: 0 },
      { text: 'a', syllabic: 'end', holds: 0 },
      { text: 'in ex-', syllabic: 'single', holds: 0 },
      { text: 'cel –', syllabic: 'single', holds: 1 },
      { text: 'Deo', syllabic: 'single', holds: 0 },
    ]);
  });
});

describe('holds', () => {
  it.each([
    ['la_ la la_ la la', 'one two three four five', [3, 4]],
    ['la__ la la__ la', 'one two three four five', [8]],
  ])('that are marked in %s say nothing of the verse below it', (above, below, lengths) => {
    const count = lengths.reduce((sum, length) => sum + length, 0);
    const phrases = lengths.map((length, n) => ({
      firstNote: n * lengths[0],
      lastNote: n * lengths[0] + length - 1,
    }));
    const { syllables } = alignWords(parseVerses(`${above}\n\n${below}`, null), plain(count), phrases);
    const laid = syllables.filter(({ text }) => text !== 'la');
    expect(laid.map(({ text }) => text).join(' ')).toBe(below);
    expect(laid.every(({ note }) => note !== null)).toBe(true);
  });
});

describe('words whose vowels meet', () => {
  // Cielito lindo and Au clair de la lune (traditional, public domain): notes as song books count them.
  const sung = (code: string, text: string, notes: number) =>
    loadLanguage(code).then((language) =>
      alignWords(parseVerses(text, language), plain(notes), [{ firstNote: 0, lastNote: notes - 1 }]),
    );
  const line = ({ syllables }: ReturnType<typeof alignWords>) =>
    syllables.map(({ text, syllabic }) => (/begin|middle/.test(syllabic) ? `${text}-` : text)).join(' ');

  it('are sung together if there are too many syllables, which is reported', async () => {
    const spanish = await sung('es', 'canta y no llores', 5);
    expect(line(spanish)).toBe('can- ta y no llo- res');
    expect(spanish.remarks).toEqual(["verse 1, line 1: 'y' sung on the same note as the syllable before"]);
    expect(line(await sung('es', 'la bella hora', 4))).toBe('la be- lla ho- ra');
  });

  it('lose a mute vowel of French', async () => {
    const french = await sung('fr', 'ma chandelle est morte', 6);
    expect(line(french)).toBe('ma chan- delle est mor- te');
    expect(french.remarks).toEqual([]);
    expect(line(await sung('fr', 'mon encre rouge', 5))).toBe('mon en- cre rou- ge');
    expect(line(await sung('fr', 'mon chan-del-le est mor-te', 6))).toBe('mon chan- del- le est mor- te');
  });

  it('stay apart if there is room, and in other languages; syllables share a note before any is left over', async () => {
    expect(line(await sung('es', 'canta y no llores', 6))).toBe('can- ta y no llo- res');
    expect(line(await sung('en', 'the o-pen sea', 3))).toBe('the open sea');
    expect(line(await sung('de', 'der Vogel singt', 3))).toBe('der Vogel singt');
    expect(line(await sung('de', 'der Him-mel ist blau', 4))).toBe('der Himmel ist blau');
    expect(line(await sung('en', 'the open sea', 3))).toBe('the open sea');
    expect(line(await sung('es', 'canta y no llores', 3))).toBe('canta y no llores');
    const short = await sung('es', 'canta y no llores', 2);
    expect(short.syllables.filter(({ note }) => note === null).map(({ text }) => text)).toEqual([
      'no',
      'llo',
      'res',
    ]);
    expect(short.remarks[0]).toBe(
      "verse 1, line 1: 'y' sung on the same note as the syllable before; no note was left for 'no', 'llo-', '-res' (join words with ~, or split fewer)",
    );
  });

  it('are joined by ~ where they meet, and the rest of both words stays split', async () => {
    expect(line(await sung('es', 'canta~alma', 3))).toBe('can- ta al- ma');
    expect(line(await sung('en', 'glory~unto', 3))).toBe('glo- ry un- to');
  });
});

describe('a verse with a syllable more than the one above', () => {
  // Yankee Doodle and Michael, row the boat ashore (traditional, public domain), with their lengths in beats.
  const below = async (text: string, beats: readonly number[]) => {
    let at = 0;
    const notes = beats.map((length) => {
      const onsetSec = at;
      at += length;
      return { start: 'breath' as const, onsetSec, offsetSec: at };
    });
    const { syllables } = alignWords(parseVerses(text, english), notes, []);
    return syllables.flatMap(({ verse, text: letters }) => (verse === 2 ? [letters] : [])).join(' ');
  };

  it('is stressed alike: two short words share a note, or a word a long one', async () => {
    const yankee = 'Yan-kee Doo-dle went to town\n\nFa-ther and I went down to camp';
    expect(await below(yankee, [1, 1, 1, 1, 1, 1, 2])).toBe('Fa ther and I went down to camp');
    const michael = "Mi-chael row the boat a-shore\n\nJor-dan's riv-er is deep and wide";
    expect(await below(michael, [1, 1, 1.5, 0.5, 1, 1, 2])).toBe("Jor dan's river is deep and wide");
  });
});

describe('a take that breaks off', () => {
  it('leaves the rest of the words without notes', () => {
    const laid = alignWords(parseVerses('one two three four five six', null), plain(2), []);
    expect(laid.syllables.map(({ note }) => note)).toEqual([0, 1, null, null, null, null]);
  });
});

describe('words under notes', () => {
  it('have one syllable per note, without remarks', () => {
    const laid = alignWords(parseVerses('go down Mo-ses', null), plain(4), [{ firstNote: 0, lastNote: 3 }]);
    expect(laid.remarks).toEqual([]);
    expect(laid.syllables.map(({ text, note, holds }) => [text, note, holds])).toEqual([
      ['go', 0, 0],
      ['down', 1, 0],
      ['Mo', 2, 0],
      ['ses', 3, 0],
    ]);
  });

  it('hold the syllable before over spare notes, slurred ones first, and report that', () => {
    const notes = starts('silence slur breath breath glide breath');
    const laid = alignWords(parseVerses('a b c d', null), notes, [{ firstNote: 0, lastNote: 5 }]);
    expect(laid.syllables.map(({ text, note, holds }) => [text, note, holds])).toEqual([
      ['a', 0, 1],
      ['b', 2, 0],
      ['c', 3, 1],
      ['d', 5, 0],
    ]);
    expect(laid.remarks).toEqual([
      "verse 1, line 1: 'a', 'c' held over more than one note (mark your own holds with _)",
    ]);
  });

  it('begin lines with phrases, so that a mismatch stays in its line', () => {
    const phrases = [
      { firstNote: 0, lastNote: 1 },
      { firstNote: 2, lastNote: 4 },
    ];
    const laid = alignWords(parseVerses('a b c\nd e f', null), plain(5), phrases);
    expect(laid.syllables.map(({ text, note }) => [text, note])).toEqual([
      ['a b', 0],
      ['c', 1],
      ['d', 2],
      ['e', 3],
      ['f', 4],
    ]);
    expect(laid.remarks).toEqual(["verse 1, line 1: 'b' sung on the same note as the syllable before"]);
  });

  it('have every verse under the same notes', () => {
    const laid = alignWords(parseVerses('a b\n\nc d', null), plain(2), [{ firstNote: 0, lastNote: 1 }]);
    expect(laid.syllables.map(({ verse, text, note }) => [verse, text, note])).toEqual([
      [1, 'a', 0],
      [1, 'b', 1],
      [2, 'c', 0],
      [2, 'd', 1],
    ]);
  });

  it('never lose a word or put two syllables of one verse on a note', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.array(fc.constantFrom('la', 'river', 'a_', 'over', '–', 'to~day', 'x'), {
            minLength: 1,
            maxLength: 6,
          }),
          {
            minLength: 1,
            maxLength: 5,
          },
        ),
        fc.integer({ min: 1, max: 20 }),
        (lines, count) => {
          const text = lines.map((line) => line.join(' ')).join('\n');
          const half = Math.ceil(count / 2);
          const phrases =
            count > 1
              ? [
                  { firstNote: 0, lastNote: half - 1 },
                  { firstNote: half, lastNote: count - 1 },
                ]
              : [{ firstNote: 0, lastNote: 0 }];
          const { syllables } = alignWords(parseVerses(text, english), plain(count), phrases);
          const letters = (some: string) => some.replaceAll(/[^\p{L}–]/gu, '');
          expect(letters(syllables.map((syllable) => syllable.text).join(''))).toBe(letters(text));
          const taken = syllables.flatMap(({ note, holds }) =>
            note === null ? [] : Array.from({ length: holds + 1 }, (_, i) => note + i),
          );
          expect(new Set(taken).size).toBe(taken.length);
          for (const note of taken) expect(note).toBeLessThan(count);
        },
      ),
    );
  });
});

describe('verses and refrains', () => {
  /** Notes that go up and down, with a breath after every so many. */
  const lines = (...counts: number[]) =>
    counts.flatMap((count, line) =>
      Array.from({ length: count }, (_, i) => {
        const onsetSec = 10 * line + 0.5 * i;
        const start = i === 0 ? ('silence' as const) : ('breath' as const);
        return { start, onsetSec, offsetSec: onsetSec + 0.48, midi: 60 + (i % 5) };
      }),
    );
  const laid = (text: string, ...counts: number[]) => {
    const {
      syllables,
      stanzas,
      lines: phrases,
      remarks,
    } = alignWords(parseVerses(text, null), lines(...counts), []);
    return {
      rows: syllables.map(({ verse, text: syllable, note }) => [verse, syllable, note]),
      stanzas,
      phrases,
      remarks,
    };
  };
  const song = 'Verse 1:\none two three\n\nRefrain\nla la\n\n2. four five six\n\nRefrain';

  it('go under their own notes if played one after another, with the refrain wherever it was played', () => {
    const { rows, stanzas, phrases, remarks } = laid(song, 3, 2, 3, 2);
    expect(rows.map(([verse]) => verse)).toEqual(new Array(10).fill(1));
    expect(rows.map(([, text, note]) => `${text}${note}`).join(' ')).toBe(
      'one0 two1 three2 la3 la4 four5 five6 six7 la8 la9',
    );
    expect(stanzas.map(({ name, firstNote }) => `${name} ${firstNote}`)).toEqual([
      'verse 1 0',
      'refrain 3',
      'verse 2 5',
      'refrain 8',
    ]);
    expect(phrases.map(({ firstNote }) => firstNote)).toEqual([0, 3, 5, 8]);
    expect(remarks).toEqual([]);
  });

  it.each([
    ['after every verse, and before the first', [2, 3, 2, 3, 2], 'refrain verse 1 refrain verse 2 refrain'],
    ['before every verse', [2, 3, 2, 3], 'refrain verse 1 refrain verse 2'],
    ['where it is written', [2, 3, 3], 'refrain verse 1 verse 2'],
  ])('sing a refrain that is written first %s', (_, counts, form) => {
    const { rows, stanzas, remarks } = laid(
      'Refrain\nla la\n\n1. one two three\n\n2. four five six',
      ...counts,
    );
    expect(stanzas.map(({ name }) => name).join(' ')).toBe(form);
    expect(rows.map(([, , note]) => note)).toEqual(rows.map((__, n) => n));
    expect(remarks).toEqual([]);
  });

  it('go under each other if the tune was played once', () => {
    const { rows, remarks } = laid(song, 3, 2);
    expect(rows.map(([verse, text, note]) => `${verse}:${text}${note}`).join(' ')).toBe(
      '1:one0 1:two1 1:three2 1:la3 1:la4 2:four0 2:five1 2:six2',
    );
    expect(remarks).toEqual([]);
  });

  it.each([
    ['a b c\n\nd e f\n\nRefrain: la la', [3, 2], 'verses 1 and 2, refrain'],
    ['a b c\n\nd e f\n\ng h i\n\nRefrain: la la', [3, 2], 'verses 1 to 3, refrain'],
    ['a b c\n\nd e f\n\ng h i\n\nj k l', [3, 3], 'verses 1 and 3, verses 2 and 4'],
  ])('are named together if they share their notes', (text, lengths, names) => {
    const { stanzas } = laid(text, ...lengths);
    expect(stanzas.map(({ name }) => name).join(', ')).toBe(names);
  });

  it('start again from the first notes if there are more than were played', () => {
    const text = ['a b c', 'd e f', 'g h i', 'j k l'].join('\n\n');
    const { rows } = laid(text, 3, 3);
    expect(rows.map(([verse, syllable, note]) => `${verse}:${syllable}${note}`).join(' ')).toBe(
      '1:a0 1:b1 1:c2 1:d3 1:e4 1:f5 2:g0 2:h1 2:i2 2:j3 2:k4 2:l5',
    );
  });

  it('are laid under the first pass if more passes were played than there are verses, even if others have clearer breaths', () => {
    const pitches = [60, 62, 64, 60, 67, 65, 64, 62, 60, 64];
    const notes = [0, 1, 2].flatMap((pass) =>
      pitches.map((midi, i) => {
        const onsetSec = 0.5 * (i + pass * pitches.length);
        const breathes = i === pitches.length - 1 || (pass > 0 && i === 4);
        return { start: 'breath' as const, midi, onsetSec, offsetSec: onsetSec + (breathes ? 0.2 : 0.48) };
      }),
    );
    const { syllables, remarks } = alignWords(
      parseVerses('one two three four five\nsix seven eight nine ten', null),
      notes,
      [],
    );
    expect(syllables.map(({ note }) => note)).toEqual(pitches.map((_, i) => i));
    expect(remarks).toEqual(['20 notes have no words']);
  });

  it('leave passages without words empty, and say so', () => {
    const { rows, phrases, remarks } = laid('one two three\nfour five', 9, 3, 2, 8);
    expect(rows.map(([, text, note]) => `${text}${note}`).join(' ')).toBe('one9 two10 three11 four12 five13');
    expect(remarks).toEqual(['17 notes have no words']);
    expect(phrases).toEqual([
      { firstNote: 9, lastNote: 11 },
      { firstNote: 12, lastNote: 13 },
    ]);
  });

  it('report lines without notes', () => {
    const { rows, remarks } = laid('one two three\nfour five\nsix seven eight nine', 3, 2);
    expect(rows.slice(5).map(([, , note]) => note)).toEqual([null, null, null, null]);
    expect(remarks).toEqual(['verse 1, line 3: no notes were left for it; it stands after the tab']);
  });
});
