import { describe, expect, it } from 'vitest';
import {
  figureWeights,
  noteContexts,
  PLACE_INPUTS,
  PlacedNotes,
} from '../../../src/music/rhythm/bars/note-inputs.ts';
import { planBar } from '../../../src/music/rhythm/metre.ts';

/** C, D a step up, G a fourth up after a gap of 0.15 s, and long. */
const NOTES = [
  { midi: 60, onsetSec: 0, offsetSec: 0.5, strength: 0 },
  { midi: 62, onsetSec: 0.5, offsetSec: 0.85, strength: 0.1 },
  { midi: 67, onsetSec: 1, offsetSec: 2, strength: 0.4 },
];

describe('inputs of the bar network', () => {
  it('describe the notes around a note', () => {
    const [first, second, last] = noteContexts(NOTES).map((row) => [...row]);
    expect([first, second, last].map(({ length }) => length)).toEqual([41, 41, 41]);
    // Into: none, a step up, a leap up; out of: a step up, a leap up, none.
    expect(first.slice(0, 14)).toEqual([0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0]);
    expect(second.slice(0, 14)).toEqual([0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0]);
    expect(last.slice(0, 14)).toEqual([0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0]);
    // One degree each.
    for (const row of [first, second, last]) expect(row.slice(14, 26).filter((x) => x === 1)).toHaveLength(1);
    // Two notes on a fifth up, first, no gap before or after, breaks here, after and before.
    expect(first.slice(26, 35)).toEqual([0, 7 / 6, 1, 0, 0, 0, 0, 0.1, 0]);
    expect(second[31]).toBeCloseTo(0.5, 6);
    // The last is twice as long as the usual: one octave of time, halved.
    expect(last[35]).toBeCloseTo(0.5, 6);
    expect(first[40]).toBeCloseTo((60 - 63) / 6, 6);
  });

  it('count the notes of a figure in full twice, and less the more often it comes', () => {
    expect([...figureWeights([60, 62, 64, 60, 62, 64, 65])]).toEqual([1, 1, 1, 1, 1, 1, 1]);
    // D comes between C and E four times.
    expect(figureWeights([60, 62, 64, 60, 62, 64, 60, 62, 64, 60, 62, 64])[1]).toBe(0.5);
  });

  it('describe where a path puts it: a pick-up of a quarter in 4/4, then bar line and middle', () => {
    const plan = planBar({ count: 4, unit: 4 });
    const placed = new PlacedNotes({ plan, atTicks: [36, 48, 72], score: 0 }, [2]);
    const [first, second, last] = [0, 1, 2].map((n) => [...placed.inputs(n)]);
    expect(first).toHaveLength(PLACE_INPUTS);
    // Levels: bar, half, pulse, off; of the note, the one before, the one after, and two away.
    expect(first.slice(0, 20)).toEqual([0, 0, 1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 0]);
    expect(second.slice(0, 12)).toEqual([1, 0, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0]);
    // On the bar line the angle is nought; a half is two pulses: an octave of pulses, halved.
    expect(second[20]).toBeCloseTo(0, 6);
    expect(second[21]).toBeCloseTo(1, 6);
    expect(second[26]).toBeCloseTo(0.5, 6);
    expect(last[27]).toBeCloseTo(0.5, 6);
    // The pick-up lies in the fourth of four bars, and is on no bar line.
    expect(first.slice(28, 34)).toEqual([0, 0, 0, 1, 1, 1]);
    expect(second.slice(28, 34)).toEqual([0, 0, 0, 0, 0, 0]);
    expect(second.slice(34, 44)).toEqual([0, 0, 1, 0, 0, 0, 0, 0, 0, 0]);
    // The last begins a repeat, in the middle of its bar.
    expect(last.slice(40, 44)).toEqual([0, 1, 0, 0]);
    // Sixteenths of 4/4, after those of 2/4 and 3/4: the 13th, the first and the 9th.
    const sixteenths = [first, second, last].map((row) => row.slice(44).indexOf(1));
    expect(sixteenths).toEqual([20 + 12, 20, 20 + 8]);
  });

  it('are the same for notes of the same kind', () => {
    // Of every two bars of 4/4 the last note is a half note; every ninth note of all comes early.
    const atTicks = Array.from({ length: 70 }, (_, n) => {
      const at = 96 * Math.floor(n / 7) + 12 * (n % 7);
      return n % 9 === 8 ? at - 6 : at;
    });
    for (const metre of [
      { count: 4, unit: 4 },
      { count: 2, unit: 4 },
      { count: 6, unit: 8 },
    ]) {
      const placed = new PlacedNotes({ plan: planBar(metre), atTicks, score: 0 }, [0, 28]);
      const byKind = new Map<number, string>();
      for (const n of atTicks.keys()) {
        const inputs = placed.inputs(n).join(' ');
        expect(byKind.get(placed.kind(n)) ?? inputs).toBe(inputs);
        byKind.set(placed.kind(n), inputs);
      }
      expect(byKind.size).toBeLessThan(atTicks.length);
    }
  });
});
