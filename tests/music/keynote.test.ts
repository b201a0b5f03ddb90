import { describe, expect, it } from 'vitest';
import { guessTonic } from '../../src/music/keynote.ts';
import { readAbc } from '../../src/music/reading/abc/abc.ts';

const guess = (abc: string) => guessTonic(readAbc(new TextEncoder().encode(`X:1\nL:1/8\n${abc}`), 'x').notes);

describe('the keynote', () => {
  // Traditional tunes with the keynote that they are written in
  it.each([
    ['K:G\nG2 G2 d2 d2 e2 e2 d4 c2 c2 B2 B2 A2 A2 G4', 7],
    ['K:C\nE2 D2 C2 D2 E2 E2 E4 D2 D2 D4 E2 G2 G4 E2 D2 C2 D2 E2 E2 E2 E2 D2 D2 E2 D2 C8', 0],
    [
      'K:Am\nA2 c2 d3 e f e d2 B2 G3 A B c2 A2 A3 ^G A B2 ^G2 E4 A2 c2 d3 e f e d2 B2 G3 A B c B A ^G3 ^F ^G A6',
      9,
    ],
  ])('%s', (abc, tonic) => {
    expect(guess(abc)).toBe(tonic);
  });

  it('of one note is that note', () => {
    expect(guessTonic([{ midi: 63, durationBeats: 1 }])).toBe(3);
  });
});
