import { describe, expect, it } from 'vitest';
import { findBeats } from '../../../src/music/rhythm/beats.ts';
import { barTicks } from '../../../src/music/rhythm/metre.ts';

/*
 * A hornpipe in ABC: `>` makes a dotted pair of 3:1 (ABC standard 2.1, 4.4, "broken rhythm"), and `(3` a triplet. Four bars of four
 * beats, each ending on a long note, as `AABA`; the tune is made up for this test.
 */
const A = [
  [67, 72],
  [76, 72],
  [79, 76],
  [84, 79],
  [83, 79],
  [77, 74],
  [79, 77, 74],
  [71, 67],
];
const B = [[72, 76], [79, 84], [81, 77, 74], [77, 81], [79, 76], [74, 71], [72, 76], [72]];
const TUNE = [...A, ...B, ...A, ...B];

/** The tune with so much of the beat for the first note of a pair, onsets up to 12 ms off. */
function play(longShare: number, beatSec: number) {
  let atSec = 0.5;
  const onsets = TUNE.flatMap((beat) => {
    const begun = atSec;
    atSec += beatSec;
    const shares = beat.length === 2 ? [0, longShare] : beat.map((_, i) => i / beat.length);
    return beat.map((midi, i) => ({ midi, onsetSec: begun + shares[i] * beatSec }));
  });
  return onsets
    .map(({ midi, onsetSec }, i) => ({ midi, onsetSec: onsetSec + 0.012 * Math.sin(7 * i * i) }))
    .map((note, i, all) => ({ ...note, offsetSec: (all[i + 1]?.onsetSec ?? atSec) - 0.02 }));
}

describe('dotted pairs among triplets', () => {
  it.each([0.55, 0.7])('are four quarters to the bar when they are 3:1, a beat lasting %f s', (beatSec) => {
    const { metre, tempoBpm, notes } = findBeats(play(3 / 4, beatSec));
    expect(metre).toEqual({ count: 4, unit: 4 });
    expect(tempoBpm).toBeCloseTo(60 / beatSec, -1);
    const inBar = notes.map(({ atTicks }) => atTicks % barTicks({ count: 4, unit: 4 }));
    expect(inBar.slice(0, 8)).toEqual([0, 9, 12, 21, 24, 33, 36, 45]);
  });

  it.each([0.5, 0.6])('are compound time when they are 2:1, a beat lasting %f s', (beatSec) => {
    const { metre, swing } = findBeats(play(2 / 3, beatSec));
    // A shuffle is as good: the long note takes two thirds of the beat in both.
    expect(swing || metre?.unit === 8).toBe(true);
  });

  it('stay in the given metre', () => {
    const { metre } = findBeats(play(3 / 4, 0.55), { metre: { count: 6, unit: 8 } });
    expect(metre).toEqual({ count: 6, unit: 8 });
  });
});
