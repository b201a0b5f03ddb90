import { describe, expect, it } from 'vitest';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';
import { readMusicXml } from '../../../src/music/reading/musicxml/musicxml.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const abc = (music: string, repeats = true) =>
  readAbc(bytes(`X:1\nM:2/4\nL:1/4\nK:C\n${music}\n`), 'tune.abc', { repeats });
const wordsOf = (notes: readonly { readonly word?: string }[]) =>
  notes.map(({ word }) => word ?? '_').join(' ');

// Several w: lines below a line of music are its verses: The ABC music standard 2.1, section 5.1
describe('verses of ABC', () => {
  it.each([
    ['each pass has its own', '|:CD:|\nw: one two\nw: three four', 'one two three four'],
    [
      'a refrain is the same again',
      '|:CD|\nw: one two\nw: three four\nEF:|\nw: la lu',
      'one two la lu three four la lu',
    ],
    ['one of two is held', '|:CD:|\nw: one two\nw: three _', 'one two three _'],
    ['a pass too many has the first', '|::CD::|\nw: one two\nw: three four', 'one two three four one two'],
    ['endings', '|:CD|1EF:|2GA|]\nw: a b c d * *\nw: e f * * g h', 'a b c d e f g h'],
    ['a section has its own count', '|:CD:|:EF:|\nw: a b e f\nw: c d g h', 'a b c d e f g h'],
    ['after a D.C. comes the next', '|:CD!fine!:|EF!D.C.!|]\nw: a b x y\nw: c d\nw: e f', 'a b c d x y e f'],
    ['continued', '|:CD:|\nw: one\n+: two\nw: three\n+: four', 'one two three four'],
    ['below our own tab', '|:CD:|\nw: 4 \\-4\nw: one two\nw: three four', 'one two three four'],
  ])('%s', (_, music, words) => {
    expect(wordsOf(abc(music).notes)).toBe(words);
  });

  it('that are never sung are reported', () => {
    const { notes, remarks } = abc('CD|]\nw: one two\nw: three four\nw: five six');
    expect(wordsOf(notes)).toBe('one two');
    expect(remarks).toEqual(['of 3 verses of words, 2 to 3 are left out: the tune is played once']);
    expect(abc('|:CD:|\nw: a b\nw: c d', false).remarks).toContain(
      'of 2 verses of words, 2 is left out: the tune is played once',
    );
  });
});

/** A note of a quarter with lyrics such as `1 la`, `2 sing- begin`, or `1,3 la` for the times 1 and 3. */
const note = (...lyrics: string[]) => {
  const inside = lyrics.map((lyric) => {
    const [number, text, syllabic = 'single'] = lyric.split(' ');
    const by = number.includes(',') ? `number="1" time-only="${number}"` : `number="${number}"`;
    return `<lyric ${by}><syllabic>${syllabic}</syllabic><text>${text}</text></lyric>`;
  });
  return `<note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration>${inside.join('')}</note>`;
};
const END = '<barline location="right"><repeat direction="backward" times="3"/></barline>';
const score = (...bars: string[]) =>
  readMusicXml(
    bytes(
      `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Harp</part-name></score-part></part-list><part id="P1">${bars
        .map(
          (bar, i) =>
            `<measure number="${i + 1}">${i === 0 ? '<attributes><divisions>1</divisions></attributes>' : ''}${bar}</measure>`,
        )
        .join('')}</part></score-partwise>`,
    ),
    'tune.musicxml',
  );

// MusicXML 4.0: lyrics are counted by their number; time-only says at which times through a repeat they are sung
describe('verses of MusicXML', () => {
  it('each pass has its own, by number', () => {
    const { notes } = score(note('1 one', '2 two', '3 three') + note('1 la', '2 lo', '3 lu') + END);
    expect(wordsOf(notes)).toBe('one la two lo three lu');
  });

  it('by the times for which they are', () => {
    const { notes } = score(note('1,3 odd', '2 even') + END);
    expect(wordsOf(notes)).toBe('odd even odd');
  });

  it('a bar with words of the first only is a refrain, unless a word goes on', () => {
    const verse = note('1 one', '2 two', '3 three') + note('1 la', '3 lu');
    expect(wordsOf(score(verse, note('1 hey') + END).notes)).toBe('one la hey two _ hey three lu hey');
    const held = note('1 one', '2 glo- begin', '3 three') + note('1 la', '2 ri- middle', '3 lu');
    const { notes } = score(held, note('1 hey'), note('1 you', '2 a', '3 us') + END);
    expect(wordsOf(notes)).toBe('one la hey you glo-- ri-- _ a three lu hey us');
  });
});
