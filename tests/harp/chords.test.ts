import { describe, expect, it } from 'vitest';
import { areReachable, chordAt, chordOnHarp } from '../../src/harp/chords.ts';
import { playableNotes } from '../../src/harp/playable.ts';

const C = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });

describe('chords on a harp', () => {
  // C E G of holes 1 to 3 blow and G B D F of 2 to 5 draw: the Richter layout (US patent 5,166,461)
  it('lie on adjacent holes in one breath', () => {
    expect(chordOnHarp([60, 64, 67], C)[0]).toMatchObject({ breath: 'blow', holes: [1, 2, 3], lost: [] });
    expect(chordOnHarp([67, 71, 74, 77], C)[0]).toMatchObject({ breath: 'draw', holes: [2, 3, 4, 5] });
  });

  it('lie on two holes with the tongue between', () => {
    expect(chordOnHarp([60, 72], C)[0]).toMatchObject({ breath: 'blow', holes: [1, 4], lost: [] });
    expect(chordOnHarp([74, 86], C)[0]).toMatchObject({ breath: 'draw', holes: [4, 8], lost: [] });
  });

  it('lie on two adjacent holes of which one is bent', () => {
    // C#5 and F5: 4 draw bent and 5 draw; A4 and D5: 3 draw bent by two and 4 draw (reeds: OEIS A291810; bends: common practice).
    expect(chordOnHarp([73, 77], C)[0]).toMatchObject({
      breath: 'draw',
      holes: [4, 5],
      bends: [1, 0],
      lost: [],
    });
    expect(chordOnHarp([69, 74], C)[0]).toMatchObject({
      breath: 'draw',
      holes: [3, 4],
      bends: [2, 0],
      lost: [],
    });
    const [plain, bent] = [0, 1].map(
      (bend) => C.find((note) => note.hole === 4 && note.breath === 'draw' && note.bend === bend)!,
    );
    expect(chordAt([71, 74], plain, C)).not.toHaveProperty('bends');
    expect(chordAt([69, 73], bent, C)).toBeUndefined();
    expect(chordAt([71, 73], bent, C)).toMatchObject({ holes: [3, 4], bends: [0, 1] });
  });

  it('lose notes of the other breath or out of reach, but never the melody', () => {
    expect(chordOnHarp([60, 62], C)[0]).toMatchObject({ breath: 'draw', holes: [1], lost: [60] });
    expect(chordOnHarp([60, 84], C)[0]).toMatchObject({ holes: [7], lost: [60] });
    expect(chordOnHarp([60, 66], C)).toEqual([]);
  });

  it('use no more holes than one mouth covers', () => {
    expect(areReachable([3, 4, 5, 6, 7])).toBe(true);
    expect(areReachable([3, 4, 5, 6, 7, 8])).toBe(false);
    expect(areReachable([1, 3, 5])).toBe(false);
    expect(areReachable([1, 7])).toBe(false);
  });
});
