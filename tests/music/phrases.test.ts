import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { findPhrases } from '../../src/music/phrases.ts';

/** Notes of these lengths with these rests after them, in seconds. */
const notes = (lengths: readonly number[], rests: readonly number[]) => {
  let sec = 1;
  return lengths.map((length, i) => {
    const onsetSec = sec;
    sec += length + (rests[i] ?? 0);
    return { onsetSec, offsetSec: onsetSec + length };
  });
};

describe('phrases', () => {
  it('end at the rests that stand out', () => {
    const found = findPhrases(
      notes([0.4, 0.4, 0.4, 0.8, 0.4, 0.4, 0.8], [0.02, 0.03, 0.02, 0.6, 0.02, 0.03, 0]),
    );
    expect(found).toEqual([
      { firstNote: 0, lastNote: 3 },
      { firstNote: 4, lastNote: 6 },
    ]);
  });

  it('are never a single note in a tune: it joins the nearer neighbour', () => {
    const lengths = new Array<number>(13).fill(0.3);
    const rests = [0.02, 0.02, 0.02, 0.02, 0.5, 0.9, 0.02, 0.02, 0.02, 0.02, 0.02, 0.02, 0];
    expect(findPhrases(notes(lengths, rests))).toEqual([
      { firstNote: 0, lastNote: 5 },
      { firstNote: 6, lastNote: 12 },
    ]);
  });

  it('are not cut at the gap of a change of breath', () => {
    expect(findPhrases(notes([0.3, 0.3, 0.3, 0.3], [0.05, 0.08, 0.06, 0]))).toHaveLength(1);
  });

  it('of slow notes need longer rests if all have gaps: 0.3 s ends a phrase of fast notes, not of slow ones', () => {
    const rests = [0.08, 0.08, 0.3, 0.08, 0.08, 0];
    expect(findPhrases(notes(new Array<number>(6).fill(0.25), rests))).toHaveLength(2);
    expect(findPhrases(notes(new Array<number>(6).fill(1.5), rests))).toHaveLength(1);
  });

  it('of slow notes end at a breath that stands out, as do long tones with pauses, but not at detached notes', () => {
    expect(findPhrases(notes(new Array<number>(6).fill(1.5), [0.02, 0.02, 0.3, 0.02, 0.02, 0]))).toHaveLength(
      2,
    );
    expect(findPhrases(notes([3, 3, 3, 3], [0.8, 0.7, 0.9, 0]))).toHaveLength(4);
    const detached = [0.6, 0.55, 0.7, 0.6, 0.65, 1.6, 0.6, 0.7, 0.55, 0.6, 0.65, 0];
    expect(
      findPhrases(notes(new Array<number>(12).fill(0.6), detached)).map(({ firstNote }) => firstNote),
    ).toEqual([0, 6]);
  });

  it('are not split into single notes by a few long rests', () => {
    const rests = [0, 0, 0, 0.3, 0, 0, 0, 0, 0.3, 0, 0, 0.3, 0.85, 0.85, 0];
    expect(
      findPhrases(notes(new Array<number>(15).fill(0.8), rests)).map(({ firstNote }) => firstNote),
    ).toEqual([0, 4, 9]);
  });

  it('are one for one note, and none for none', () => {
    expect(findPhrases(notes([1], [0]))).toEqual([{ firstNote: 0, lastNote: 0 }]);
    expect(findPhrases([])).toEqual([]);
  });

  it('contain every note once, in order, and are cut only at rests', () => {
    const sec = fc.double({ min: 0.05, max: 2, noNaN: true });
    const rest = fc.double({ min: 0, max: 1.5, noNaN: true });
    fc.assert(
      fc.property(fc.array(fc.tuple(sec, rest), { minLength: 1, maxLength: 30 }), (steps) => {
        const played = notes(
          steps.map(([length]) => length),
          steps.map(([, after]) => after),
        );
        const found = findPhrases(played);
        expect(found[0].firstNote).toBe(0);
        expect(found.at(-1)!.lastNote).toBe(played.length - 1);
        const cuts: number[] = [];
        const kept: number[] = [];
        for (let i = 1; i < played.length; i++) {
          const gap = played[i].onsetSec - played[i - 1].offsetSec;
          (found.some(({ firstNote }) => firstNote === i) ? cuts : kept).push(gap);
        }
        for (let i = 1; i < found.length; i++) expect(found[i].firstNote).toBe(found[i - 1].lastNote + 1);
        if (cuts.length > 0 && kept.length === 0) expect(found).toHaveLength(played.length);
      }),
    );
  });
});
