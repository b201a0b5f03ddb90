import { describe, expect, it } from 'vitest';
import { mergePatch } from '../../../src/take/edits/merge.ts';
import { applyPatch } from '../../../src/take/edits/patch.ts';
import { buildTake } from '../../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../example.ts';

const base = buildTake(EXAMPLE_SOURCE, exampleFindings(['4 -4 5 6']));
const withHole = (take: typeof base, at: number, hole: number) => ({
  ...take,
  notes: take.notes.map((note, i) => (i === at ? { ...note, hole } : note)),
});
const holes = ({ notes }: typeof base) => notes.map(({ hole }) => hole);

describe('two programs that change the same take', () => {
  it('may each have changed other notes: both are kept', () => {
    const theirs = withHole(base, 3, 9);
    const patch = mergePatch(base, withHole(base, 0, 2), theirs);
    expect(patch === null ? [] : holes(applyPatch(theirs, patch, 'after'))).toEqual([2, 4, 5, 9]);
  });

  it("can't both have changed a note or the harp", () => {
    expect(mergePatch(base, withHole(base, 0, 2), withHole(base, 0, 3))).toBeNull();
    const harp = (key: string) => ({ ...base, harp: { ...base.harp, key } });
    expect(mergePatch(base, harp('D'), harp('E'))).toBeNull();
    expect(mergePatch(base, harp('D'), withHole(base, 0, 3))).not.toBeNull();
  });

  it("can't both have added or deleted notes, as phrases count them", () => {
    const without = (at: number) => ({ ...base, notes: base.notes.filter((_, i) => i !== at) });
    expect(mergePatch(base, without(0), without(3))).toBeNull();
    expect(mergePatch(base, without(0), withHole(base, 3, 9))).not.toBeNull();
  });
});
