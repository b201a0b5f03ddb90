import { describe, expect, it } from 'vitest';
import { layoutById } from '../../src/harp/layouts.ts';
import {
  parseTemperamentTable,
  reedCents,
  TEMPERAMENTS,
  temperamentById,
} from '../../src/harp/temperaments.ts';
import type { Breath } from '../../src/harp/types.ts';

const richter = layoutById('richter');
const rowOf = (id: string, breath: Breath) =>
  richter[breath].map((offset, i) => reedCents(temperamentById(id), i + 1, breath, offset));

describe('temperaments', () => {
  const BLOW = [0, -14, 2, 0, -14, 2, 0, -14, 2, 0];
  // Published to whole cents: http://ohw.se/hca/ji_hca01.scl, ji_hca02.scl, ji_hca03.scl, ji_hca23.scl, tuning02.php
  it.each([
    ['just-1st', [4, 2, -12, 4, -2, -16, -12, 4, -2, -16]],
    ['just-7-limit', [4, 2, -12, 4, -29, 6, -12, 4, -29, 6]],
    ['just-3rd', [4, 2, -12, 4, 20, 6, -12, 4, 20, 6]],
    ['compromise', [4, 2, -12, 4, -2, 6, -12, 4, -2, 6]],
    ['19-limit', [4, 2, -12, 4, 1, 6, -12, 4, 1, 6]],
  ])('%s agrees with the published table', (id, draw) => {
    expect(rowOf(id, 'blow').map((cents) => Math.round(cents) + 0)).toEqual(BLOW);
    expect(rowOf(id, 'draw').map((cents) => Math.round(cents) + 0)).toEqual(draw);
  });

  it('7-limit is exact', () => {
    // 1200 log2 of 5/4, 3/2, 9/8, 3/2, 15/8, 21/16, 27/16 [calculated]
    const draw = rowOf('just', 'draw');
    const blow = rowOf('just', 'blow');
    const measured = [blow[1], blow[2], draw[0], draw[1], draw[2], draw[4], draw[5]];
    const exact = [-13.686, 1.955, 3.91, 1.955, -11.731, -29.219, 5.865];
    for (let i = 0; i < exact.length; i++) expect(measured[i]).toBeCloseTo(exact[i], 3);
  });

  it('equal is zero everywhere, and no scheme moves a reed by half a semitone', () => {
    expect(rowOf('equal', 'draw')).toEqual(new Array(10).fill(0));
    for (const scheme of TEMPERAMENTS) {
      if (scheme.kind === 'intervals') {
        expect(scheme.cents).toHaveLength(12);
        for (const cents of scheme.cents) expect(Math.abs(cents)).toBeLessThan(50);
      }
    }
  });

  it('refuses an unknown name', () => {
    expect(() => temperamentById('meantone')).toThrow(
      expect.objectContaining({ code: 'E_TUNING', fix: expect.stringContaining('just-7-limit') }),
    );
  });

  const zeros = new Array<number>(10).fill(0);
  it('reads a table of twenty values', () => {
    const table = parseTemperamentTable({ blow: zeros.with(4, -9.5), draw: zeros.with(9, 12) });
    expect(reedCents(table, 5, 'blow', 16)).toBe(-9.5);
    expect(reedCents(table, 10, 'draw', 33)).toBe(12);
    expect(reedCents(table, 5, 'draw', 17)).toBe(0);
  });

  it.each([
    ['too far', { blow: zeros, draw: zeros.with(2, 51) }, /hole 3 draw: 51 /],
    ['a word', { blow: zeros.with(0, 'flat' as never), draw: zeros }, /hole 1 blow: "flat"/],
    ['nineteen', { blow: zeros, draw: zeros.slice(1) }, /'draw' has 9/],
    ['nothing', null, /not a JSON object/],
  ])('refuses %s', (_, json, message) => {
    expect(() => parseTemperamentTable(json)).toThrow(message);
  });
});
