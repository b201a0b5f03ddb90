import { describe, expect, it } from 'vitest';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';
import { readMusicXml } from '../../../src/music/reading/musicxml/musicxml.ts';

const LETTERS = 'CDEFGAB';
const MAJOR = [0, 2, 4, 5, 7, 9, 11];
const bytes = (text: string) => new TextEncoder().encode(text);
const lettersOf = (notes: readonly { readonly midi: number }[]) =>
  notes.map(({ midi }) => LETTERS[MAJOR.indexOf(midi % 12)]).join('');
const fromAbc = (music: string, repeats = true) =>
  readAbc(bytes(`X:1\nM:2/4\nL:1/4\nK:C\n${music}\n`), 'tune.abc', { repeats });

const SOUNDS: Readonly<Record<string, string>> = {
  segno: '<sound segno="1"/>',
  coda: '<sound coda="1"/>',
  to: '<sound tocoda="1"/>',
  fine: '<sound fine="yes"/>',
  dc: '<sound dacapo="yes"/>',
  ds: '<sound dalsegno="1"/>',
};
const WORDS: Readonly<Record<string, string>> = {
  segno: '<segno/>',
  coda: '<coda/>',
  to: '<words>To Coda</words>',
  fine: '<words>Fine</words>',
  'dc fine': '<words>D.C. al Fine</words>',
  'dc coda': '<words>D.C. al Coda</words>',
  'ds fine': '<words>D.S. al Fine</words>',
  'ds coda': '<words>D. S. al Coda</words>',
};
const SIGNS: Readonly<Record<string, string>> = {
  '|:': '<barline location="left"><repeat direction="forward"/></barline>',
  ':|': '<barline location="right"><repeat direction="backward"/></barline>',
  '1:|': '<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>',
  '[1': '<barline location="left"><ending number="1" type="start"/></barline>',
  '[2': '<barline location="left"><ending number="2" type="start"/></barline>',
  '2]': '<barline location="right"><ending number="2" type="discontinue"/></barline>',
};
/** A score from measures such as `segno CD to`: signs and marks, and notes of a quarter each. */
function scoreOf(measures: readonly string[]): string {
  const inside = (word: string): string => {
    if (SIGNS[word] !== undefined) return SIGNS[word];
    const [by, name = ''] = word.split(':');
    if (by === 'sound')
      return `<direction><direction-type><words>x</words></direction-type>${SOUNDS[name]}</direction>`;
    if (by === 'words')
      return `<direction><direction-type>${WORDS[name.replace('_', ' ')]}</direction-type></direction>`;
    return [...word]
      .map(
        (step) => `<note><pitch><step>${step}</step><octave>4</octave></pitch><duration>1</duration></note>`,
      )
      .join('');
  };
  const head =
    '<attributes><divisions>1</divisions><time><beats>2</beats><beat-type>4</beat-type></time></attributes>';
  const bars = measures.map((measure, i) => {
    return `<measure number="${i + 1}">${i === 0 ? head : ''}${measure.split(' ').map(inside).join('')}</measure>`;
  });
  return `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Harp</part-name></score-part></part-list><part id="P1">${bars.join('')}</part></score-partwise>`;
}
const fromScore = (measures: readonly string[]) => readMusicXml(bytes(scoreOf(measures)), 'tune.musicxml');

// The first five are in the order in which music21 10.5 expands these scores (`expandRepeats`)
describe('jumps of MusicXML', () => {
  it.each([
    ['D.C. al Fine', ['CD', 'EF sound:fine', 'GA', 'B sound:dc'], 'CDEFGABCDEF'],
    ['D.S. al Fine', ['CD', 'sound:segno EF', 'GA sound:fine', 'BC sound:ds'], 'CDEFGABCEFGA'],
    ['D.C. al Coda', ['CD sound:to', 'EF', 'GA sound:dc', 'sound:coda BC'], 'CDEFGACDBC'],
    ['D.S. al Coda', ['CD', 'sound:segno EF sound:to', 'GA sound:ds', 'sound:coda BC'], 'CDEFGAEFBC'],
    ['repeats before a D.C.', ['|: CD', 'EF :| sound:fine', '|: GA :|', 'BC sound:dc'], 'CDEFCDEFGAGABCCDEF'],
    ['endings', ['|: CD', '[1 EF 1:|', '[2 GA sound:fine 2]', 'BC sound:dc'], 'CDEFCDGABCCDGA'],
  ])('%s', (_, measures, order) => {
    const { notes, remarks } = fromScore(measures);
    expect(lettersOf(notes)).toBe(order);
    expect(remarks.some((remark) => / is followed$/.test(remark))).toBe(true);
  });

  it('by signs and words alone', () => {
    expect(lettersOf(fromScore(['CD', 'words:fine EF', 'GA', 'words:dc_fine BC']).notes)).toBe(
      'CDEFGABCCDEF',
    );
    const coda = ['CD', 'words:segno EF words:to', 'GA words:ds_coda', 'words:coda BC'];
    expect(lettersOf(fromScore(coda).notes)).toBe('CDEFGAEFBC');
  });

  it('within a bar, for a tune with a pick-up', () => {
    const { notes } = fromScore(['C', 'DE', 'F sound:fine G', 'AB', 'C sound:dc']);
    expect(lettersOf(notes)).toBe('CDEFGABCCDEF');
    expect(notes[8]).toMatchObject({ onsetBeats: 8, durationBeats: 1 });
  });
});

// Decorations: The ABC music standard 2.1, section 4.14
describe('jumps of ABC', () => {
  it.each([
    ['CD|EF!fine!|GA|BC!D.C.!|]', 'CDEFGABCCDEF'],
    ['CD|!fine!EF|GA|"^D.C. al Fine"BC|]', 'CDEFGABCCDEF'],
    ['CD|E"Fine"F|GA|BC !D.C.alfine! |]', 'CDEFGABCCDEF'],
    ['CD|!segno!EF|GA!fine!|BC!D.S.!|]', 'CDEFGABCEFGA'],
    ['CD|SEF|GO A|BC!D.S.!|OGE|]', 'CDEFGABCEFGAGE'],
    ['CD!coda!|EF|GA!dacapo!|]\n!coda!BC|]', 'CDEFGACDBC'],
    ['CD|!coda!EF|GA"D.C. al Coda"|]\n!coda!BC|]', 'CDEFGACDBC'],
    ['|:CD|1EF:|2GA!fine!||BC!D.C.!|]', 'CDEFCDGABCCDGA'],
  ])('%s', (music, order) => {
    expect(lettersOf(fromAbc(music).notes)).toBe(order);
  });

  it.each([
    ['CD|EF!D.C.!|]', /^D\.C\. is not followed: the score has neither a Fine/],
    ['CD|EF"D.C. al Fine"|]', /^D\.C\. al Fine is not followed: the score has no Fine before it$/],
    ['CD!fine!|EF!D.S.!|]', /^D\.S\. is not followed: the score has no segno before it$/],
    ['CD!fine!|EF!D.C.!|GA|]', /notes follow that would never be played$/],
    ['CD!fine!|EF!D.C.!|GA!D.C.!|]', /^2 of D\.C\. and D\.S\. are not followed/],
    ['CD!coda!|EF!D.C.!|GA|!coda!BC|]', /notes between it and the coda would never be played$/],
  ])('%s is reported and read as written', (music, remark) => {
    const { notes, remarks } = fromAbc(music);
    expect(remarks).toEqual([expect.stringMatching(remark)]);
    expect(lettersOf(notes)).toBe(music.replaceAll(/![^!]*!|"[^"]*"|[^A-G]/g, ''));
  });

  it('is not followed if repeats are read once', () => {
    const { notes, remarks } = fromAbc('CD!fine!|EF!D.C.!|]', false);
    expect(lettersOf(notes)).toBe('CDEF');
    expect(remarks).toContain('D.C. al Fine is not followed');
  });
});
