import { describe, expect, it } from 'vitest';
import { referenceFromMelody, referenceFromTake } from '../../../src/check/align/reference.ts';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';
import { buildTake } from '../../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleNote } from '../../take/example.ts';

// Engravers number the first full bar 1; a pick-up before it is not counted [common practice].
describe('bars that findings name', () => {
  it('of a score', () => {
    const melody = readAbc(
      new TextEncoder().encode('X:1\nM:3/4\nL:1/4\nK:C\nG | c2 e | c3 | z2 G |\n'),
      'tune.abc',
    );
    expect(referenceFromMelody('tune', melody, null).notes.map(({ bar }) => bar)).toEqual([0, 1, 1, 2, 3]);
  });

  it('of a take', () => {
    const tune = '55 60:2 64:.5 60:.5 64:2 62 60:2 57 55:2 55 60:2 64:.5 60:.5 64:2 62 67:5'.split(' ');
    let at = 0.5;
    const notes = tune.map((sign, i) => {
      const [midi, beats] = sign.split(':').map(Number);
      const onsetSec = at;
      at += 0.7 * (beats || 1);
      return exampleNote('4', onsetSec, `n${i + 1}`, { midi, offsetSec: at - 0.01 });
    });
    const take = buildTake(EXAMPLE_SOURCE, {
      harp: { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440, confidence: 1, alternatives: [] },
      notes,
      phrases: [{ firstNote: 0, lastNote: notes.length - 1 }],
    });
    expect(take.beats.pickupTicks).toBe(12);
    const bars = referenceFromTake('take', take).notes.map(({ bar }) => bar);
    expect(bars).toEqual([0, 1, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 5, 6, 6, 7]);
  });
});
