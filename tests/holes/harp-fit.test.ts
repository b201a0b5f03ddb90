import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { HARP_KEYS } from '../../src/harp/keys.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import { fitterOf, noteFit, UNEXPLAINED } from '../../src/holes/harp-fit.ts';
import { naturalFits } from '../../src/holes/steadiness.ts';
import { hzToMidi } from '../../src/units.ts';
import { event, harp } from '../tab/hand-made.ts';

const midis = fc.array(fc.double({ min: 50, max: 104, noNaN: true }), { minLength: 1, maxLength: 25 });

describe('the quick fit of pitches', () => {
  it('equals the sum over the best notes, for each A4 and style', () => {
    fc.assert(
      fc.property(midis, fc.constantFrom(...HARP_KEYS), (pitches, key) => {
        const events = pitches.map((midi) => event(midi));
        const natural = naturalFits(events);
        const notes = playableNotes(harp(key));
        const { score, prior, style, a4Cents } = fitterOf(events, natural, 1, undefined)(notes);
        const noteScore = noteFit(style, natural);
        const sum = events.reduce((total, { midi }, t) => {
          const best = notes.map((note) => noteScore(t, note, 100 * (midi - hzToMidi(note.f0Hz)) - a4Cents));
          return total + Math.max(UNEXPLAINED, ...best);
        }, 0);
        expect(score - prior).toBeCloseTo(sum, 6);
      }),
      { numRuns: 40 },
    );
  });

  it('finds where A4 is', () => {
    const reeds = playableNotes(harp('C')).filter(({ bend, over }) => bend === 0 && !over);
    const events = reeds.map(({ midi }) => event(midi + 0.12));
    const fitted = fitterOf(events, naturalFits(events), 1, undefined)(playableNotes(harp('C')));
    expect(fitted.a4Cents).toBe(12);
  });

  it('keeps an A4 that is known', () => {
    const events = [event(60.3), event(64.3), event(67.3)];
    const fitted = fitterOf(events, naturalFits(events), 1, 0)(playableNotes(harp('C')));
    expect(fitted.a4Cents).toBe(0);
    expect(fitted.prior).toBeCloseTo(-fitted.style.rarity, 12);
  });
});
