import { describe, expect, it } from 'vitest';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';

const LETTERS = 'CDEFGAB';
const MAJOR = [0, 2, 4, 5, 7, 9, 11];
/** The letters of the notes that are played. */
function played(music: string, repeats = true): string {
  const text = `X:1\nM:2/4\nL:1/4\nK:C\n${music}\n`;
  const { notes } = readAbc(new TextEncoder().encode(text), 'tune.abc', { repeats });
  let at = 0;
  for (const { onsetBeats, durationBeats } of notes) {
    expect(onsetBeats).toBeCloseTo(at, 9);
    at += durationBeats;
  }
  return notes.map(({ midi }) => LETTERS[MAJOR.indexOf(midi % 12)]).join('');
}

// The order in which repeats are played: The ABC music standard 2.1, sections 4.8 to 4.10
describe('repeats', () => {
  it.each([
    ['CD|EF:|', 'CDEFCDEF', 'CDEF'],
    ['|:CD:|:EF:|', 'CDCDEFEF', 'CDEF'],
    ['|:CD::EF:|', 'CDCDEFEF', 'CDEF'],
    ['CD|:EF:|GA', 'CDEFEFGA', 'CDEFGA'],
    ['|:CD|1 EE:|2 FF|GA|]', 'CDEECDFFGA', 'CDFFGA'],
    ['|:CD|[1 EE:|[2 FF||GA:|', 'CDEECDFFGAGA', 'CDFFGA'],
    ['|:CD|1,2 EE:|3 FF|]', 'CDEECDEECDFF', 'CDFF'],
    ['|:CD|1-3 EE:|4 FF|]', 'CDEECDEECDEECDFF', 'CDFF'],
    ['|::CD::|EF', 'CDCDCDEF', 'CDEF'],
    ['CD||EF:|', 'CDEFEF', 'CDEF'],
    ['|:CD|:EF:|', 'CDEFEF', 'CDEF'],
    ['|:CD||EF:|', 'CDEFCDEF', 'CDEF'],
  ])('%s', (music, all, once) => {
    expect(played(music)).toBe(all);
    expect(played(music, false)).toBe(once);
  });

  it('always end', () => {
    const long = Array.from({ length: 3000 }, () => 'C||[1D:|[2E').join('|');
    expect(played(`|:${long}:|`, false).length).toBeGreaterThan(3000);
  });
});
