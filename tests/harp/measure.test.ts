import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LAYOUTS } from '../../src/harp/layouts.ts';
import { measureHarp } from '../../src/harp/measure.ts';
import { naturalReeds } from '../../src/harp/playable.ts';
import { parseTemperamentTable, TEMPERAMENTS } from '../../src/harp/temperaments.ts';
import type { HarpSpec, PlayableNote } from '../../src/harp/types.ts';

const C: HarpSpec = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
const detuned = (hz: number, cents: number) => hz * 2 ** (cents / 1200);
const play = (reeds: readonly PlayableNote[]) => reeds.map((reed) => reed.f0Hz);
const blowsThenDraws = (reeds: readonly PlayableNote[]) => [
  ...reeds.filter((r) => r.breath === 'blow'),
  ...reeds.filter((r) => r.breath === 'draw'),
];

describe('measuring a harp', () => {
  it.each(TEMPERAMENTS.map((t) => t.id))('finds A4 and temperament again: %s at 443 Hz', (temperament) => {
    const reeds = naturalReeds({ ...C, temperament, a4Hz: 443 });
    const found = measureHarp(play(reeds), C)!;
    expect(found.nearest).toBe(temperament);
    expect(found.a4Hz).toBeCloseTo(443, 6);
    expect(found.residualCents).toBeCloseTo(0, 6);
    expect(found.strayNotes).toBe(0);
    expect(found.gapCents.every((gap) => Math.abs(gap!) < 1e-6)).toBe(true);
  });

  it('names the reed that is out of tune, and the gap of its hole', () => {
    const reeds = naturalReeds(C);
    const heard = reeds.map((r) => (r.hole === 5 && r.breath === 'draw' ? detuned(r.f0Hz, -18) : r.f0Hz));
    const found = measureHarp(heard, C)!;
    const off = found.reeds.filter((reed) => Math.abs(reed.offCents!) > 1);
    expect(off.map(({ hole, breath }) => `${hole} ${breath}`)).toEqual(['5 draw']);
    expect(off[0].offCents).toBeCloseTo(-18, 6);
    expect(found.gapCents[4]).toBeCloseTo(-18, 6);
    expect(found.table.draw[4]).toBeCloseTo(-18, 6);
    expect(parseTemperamentTable(JSON.parse(JSON.stringify(found.table)))).toEqual(found.table);
  });

  it('distinguishes 2 draw from 3 blow by the order of playing', () => {
    const reeds = naturalReeds(C).map((r) => {
      const cents = r.hole === 2 && r.breath === 'draw' ? 9 : r.hole === 3 && r.breath === 'blow' ? -9 : 0;
      return { ...r, f0Hz: detuned(r.f0Hz, cents) };
    });
    for (const order of [reeds, [...reeds].reverse(), blowsThenDraws(reeds)]) {
      const found = measureHarp(play(order), C)!;
      expect(found.table.draw[1]).toBeCloseTo(9, 6);
      expect(found.table.blow[2]).toBeCloseTo(-9, 6);
    }
  });

  it('copes with a reed left out, one played twice, and a note of no reed', () => {
    const reeds = naturalReeds(C);
    const heard = play(reeds.filter((r) => !(r.hole === 7 && r.breath === 'draw')));
    heard.splice(4, 0, detuned(reeds[3].f0Hz, 6)); // 2 draw again, 6 cents sharp
    heard.splice(10, 0, detuned(reeds[9].f0Hz, 250)); // between the reeds
    const found = measureHarp(heard, C)!;
    expect(found.strayNotes).toBe(1);
    const missing = found.reeds.filter((reed) => reed.f0Hz === null);
    expect(missing.map(({ hole, breath }) => `${hole} ${breath}`)).toEqual(['7 draw']);
    expect(found.gapCents[6]).toBeNull();
    expect(found.reeds.find((r) => r.hole === 2 && r.breath === 'draw')).toMatchObject({ count: 2 });
    expect(measureHarp(heard.slice(0, 8), C)).toBeNull();
    expect(measureHarp([], C)).toBeNull();
  });

  it('gives every reed its own cents, whatever the tuning', () => {
    const cents = fc.array(fc.integer({ min: -9, max: 9 }), { minLength: 20, maxLength: 20 });
    fc.assert(
      fc.property(fc.constantFrom(...LAYOUTS), cents, (layout, offs) => {
        const spec = { ...C, tuning: layout.id };
        const heard = naturalReeds(spec).map((reed, i) => detuned(reed.f0Hz, offs[i]));
        const found = measureHarp(heard, spec)!;
        expect(found.strayNotes).toBe(0);
        for (const [i, reed] of found.reeds.entries()) expect(reed.f0Hz).toBeCloseTo(heard[i], 6);
      }),
    );
  });
});
