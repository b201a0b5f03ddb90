import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Kernel } from '../../../src/kernel.ts';
import { LEVELS, levelAccents, placeLevels } from '../../../src/music/rhythm/accents.ts';
import { barSteps } from '../../../src/music/rhythm/bar-steps.ts';
import { findBeats } from '../../../src/music/rhythm/beats.ts';
import { barNumber, barTicks, pickupOf, planBar, TICKS_PER_BEAT } from '../../../src/music/rhythm/metre.ts';
import { findParallels, parallelScore } from '../../../src/music/rhythm/parallels.ts';
import {
  AHEAD_STATES,
  aheadSec,
  LONGEST_TICKS,
  NOT_AHEAD,
  SLIP,
  TimeScores,
  timeScore,
} from '../../../src/music/rhythm/time-scores.ts';

const timeScores = (tempos: readonly number[]): TimeScores =>
  new TimeScores(new Kernel(TimeScores.bytesFor(tempos.length)), tempos);

/** A tune as `MIDI number:beats`; `|` a breath of 0.3 s that the time waits for. */
function play(tune: string, bpm: number) {
  const notes: { midi: number; onsetSec: number; offsetSec: number }[] = [];
  let at = 0.5;
  for (const sign of tune.split(' ')) {
    if (sign === '|') {
      notes.push({ ...notes.pop()!, offsetSec: at - 0.12 });
      at += 0.3;
      continue;
    }
    const [midi, beats] = sign.split(':').map(Number);
    const sec = ((beats || 1) * 60) / bpm;
    notes.push({ midi, onsetSec: at, offsetSec: at + sec - 0.02 });
    at += sec;
  }
  return notes;
}

const ROUND =
  '60 62 64 60 60 62 64 60 | 64 65 67:2 64 65 67:2 | 67:.5 69:.5 67:.5 65:.5 64 60 67:.5 69:.5 67:.5 65:.5 64 60 | 60 55 60:2 60 55 60:2';

// Metre and pick-up as these tunes are commonly written [common practice, from memory].
const TUNES = [
  {
    name: 'Ah vous dirai-je, maman',
    tune: '60 60 67 67 69 69 67:2 | 65 65 64 64 62 62 60:2 | 67 67 65 65 64 64 62:2 | 67 67 65 65 64 64 62:2 | 60 60 67 67 69 69 67:2 | 65 65 64 64 62 62 60:2',
    bpm: 100,
    beats: 4,
    pickupBeats: 0,
  },
  {
    name: 'Auld Lang Syne',
    tune: '55 60:1.5 60:.5 60 64 62:1.5 60:.5 62 64 | 60:1.5 60:.5 64 67 69:3 | 69 67:1.5 64:.5 64 60 62:1.5 60:.5 62 64 | 60:1.5 57:.5 57 55 60:3',
    bpm: 92,
    beats: 4,
    pickupBeats: 1,
  },
  {
    name: 'Amazing Grace',
    tune: '55 60:2 64:.5 60:.5 64:2 62 60:2 57 55:2 | 55 60:2 64:.5 60:.5 64:2 62 67:5 | 64 67:2 64:.5 60:.5 64:2 62 60:2 57 55:2 | 55 60:2 64:.5 60:.5 64:2 62 60:5',
    bpm: 84,
    beats: 3,
    pickupBeats: 1,
  },
  {
    name: 'Frère Jacques, twice',
    tune: ROUND.concat(' | ', ROUND),
    bpm: 100,
    beats: 4,
    pickupBeats: 0,
  },
];

describe('bar lines', () => {
  it.each(TUNES)('of $name are where they are written', ({ tune, bpm, beats, pickupBeats }) => {
    const found = findBeats(play(tune, bpm));
    expect(found.metre).toEqual({ count: beats, unit: 4 });
    expect(found.pickupTicks).toBe(pickupBeats * TICKS_PER_BEAT);
  });

  it('are found by pitch and phrase if the rhythm is uniform', () => {
    const even =
      '60 64 67 64 | 62 65 69 65 | 64 67 72 67 | 62 65 67 65 | 60 64 67 64 | 62 65 69 65 | 64 67 62 59 | 60:4';
    const found = findBeats(play(even, 100));
    for (const i of [0, 4, 8, 12, 16, 20, 24, 28])
      expect(found.notes[i].atTicks % barTicks(found.metre!)).toBe(0);
  });

  it('number the pick-up 0 and the first full bar 1', () => {
    const metre = { count: 3, unit: 4 };
    expect([24, 36, 71, 72].map((at) => barNumber(at, metre, 12))).toEqual([0, 1, 1, 2]);
    expect([0, 35, 36].map((at) => barNumber(at, metre, 0))).toEqual([1, 1, 2]);
    expect(pickupOf(1, metre)).toEqual({ pickupBeats: 1 });
    expect(pickupOf(3, metre)).toEqual({});
    expect(pickupOf(null, metre)).toEqual({});
  });
});

describe('fast playing', () => {
  const scale = [60, 62, 64, 65, 67, 69, 71, 72, 74, 72, 71, 69, 67, 65, 64, 62];
  it.each([92, 100, 116])('reads runs of four to a beat at %i as sixteenths', (bpm) => {
    const run = [...scale, ...scale].map((midi) => `${midi}:.25`).join(' ');
    const found = findBeats(play(`${run} 60:1 | ${run} 60:1`, bpm));
    expect(found.notes.slice(0, 32).every(({ lengthTicks }) => lengthTicks === TICKS_PER_BEAT / 4)).toBe(
      true,
    );
    expect(found.tempoBpm / bpm).toBeCloseTo(1, 1);
  });
});

describe('loose playing', () => {
  it('of a few sixteenths does not turn the others into eighths', () => {
    const run = [60, 62, 64, 65, 67, 69, 71, 72, 74, 72, 71, 69, 67, 65, 64, 62]
      .map((midi) => `${midi}:.25`)
      .join(' ');
    const notes = play(`${run} 60:1 | ${run} 60:1`, 100).map((note, i) => ({
      ...note,
      // Two of the notes come 60 ms late, four tenths of a sixteenth.
      onsetSec: note.onsetSec + (i === 5 || i === 24 ? 0.06 : 0),
    }));
    const found = findBeats(notes);
    const sixteenths = found.notes.filter(({ lengthTicks }) => lengthTicks === TICKS_PER_BEAT / 4);
    expect(sixteenths.length).toBeGreaterThanOrEqual(30);
  });
});

describe('accents', () => {
  it('are odds: weighted by how common the levels are, they sum to one', () => {
    const notes = play('60 62:2 | 64 60 55:.5 72', 90).map((note, i) => ({
      ...note,
      restSec: i === 2 ? 0.4 : 0,
    }));
    const accents = levelAccents(notes);
    for (let i = 0; i < notes.length; i++) {
      const sum = [0.22, 0.09, 0.27, 0.42].reduce(
        (all, share, level) => all + share * Math.exp(accents[i * LEVELS + level]),
        0,
      );
      expect(sum).toBeCloseTo(1, 9);
    }
  });

  it('put the end of a tune on a strong place, with pitches or without', () => {
    for (const notes of [play('60 62 64 60', 90), play('60 62 64 60', 90).map(({ midi, ...rest }) => rest)]) {
      const last = levelAccents(notes.map((note) => ({ ...note, restSec: 0 }))).slice(-LEVELS);
      expect(last[0]).toBeGreaterThan(0);
      expect(last[3]).toBeLessThan(0);
    }
  });

  it('distinguish bar line, half bar, pulse and places in between', () => {
    const common = planBar({ count: 4, unit: 4 });
    const levelAt = (tick: number) => placeLevels(common)[common.places.indexOf(tick)];
    expect([0, 24, 12, 36, 6, 4].map(levelAt)).toEqual([0, 1, 2, 2, 3, 3]);
    const jig = planBar({ count: 6, unit: 8 });
    expect([0, 18, 6].map((tick) => placeLevels(jig)[jig.places.indexOf(tick)])).toEqual([0, 2, 3]);
  });
});

describe('repeats of a tune', () => {
  const pitches = [60, 62, 64, 60, 67, 60, 62, 64, 60, 65];
  it('are found where pitch and rhythm repeat, even a step higher', () => {
    const even = pitches.map((_, i) => (i === 0 ? null : 12));
    expect(findParallels(pitches, even)).toEqual([{ earlier: 3, later: 8 }]);
    const higher = pitches.map((pitch, i) => (i > 4 ? pitch + 2 : pitch));
    expect(findParallels(higher, even)).toEqual([{ earlier: 3, later: 8 }]);
    const uneven = even.map((ticks, i) => (i === 7 ? 6 : ticks));
    expect(findParallels(pitches, uneven)).toEqual([]);
  });

  it('support a metre in which they are whole bars apart', () => {
    const parallels = [{ earlier: 3, later: 8 }];
    const atTicks = pitches.map((_, i) => 12 * i + (i > 4 ? 12 : 0));
    const [three, four] = [3, 4].map((count) =>
      parallelScore(parallels, atTicks, planBar({ count, unit: 4 }), 12),
    );
    expect(three).toBeGreaterThan(0);
    expect(four).toBeLessThan(0);
  });

  it('are four bars apart rather than six, and rarely an odd number', () => {
    // Twelve quarters apart: six bars of 2/4, four of 3/4, three of 4/4.
    const apart = [{ earlier: 0, later: 1 }];
    const [six, four, three] = [2, 3, 4].map((count) =>
      parallelScore(apart, [0, 12 * TICKS_PER_BEAT], planBar({ count, unit: 4 }), 12),
    );
    expect(four).toBeGreaterThan(six);
    expect(six).toBeGreaterThan(three);
  });

  it('count the same at twice the tempo', () => {
    const apart = [{ earlier: 0, later: 1 }];
    const slow = parallelScore(apart, [0, 96], planBar({ count: 2, unit: 4 }), 6);
    const fast = parallelScore(apart, [0, 192], planBar({ count: 4, unit: 4 }), 12);
    expect(fast).toBeCloseTo(slow, 9);
  });
});

describe('the metrical model', () => {
  it('gives steps from every place whose probabilities sum to one', () => {
    for (const plan of [
      planBar({ count: 4, unit: 4 }),
      planBar({ count: 3, unit: 4 }, true),
      planBar({ count: 6, unit: 8 }),
    ]) {
      const { begin, logProb, ticks, atLeast } = barSteps(plan, LONGEST_TICKS);
      for (let place = 0; place < plan.places.length; place++) {
        const row = Array.from(logProb.slice(begin[place], begin[place + 1]), Math.exp);
        const sum = row.reduce((all, share) => all + share, 0);
        expect(sum).toBeLessThanOrEqual(1 + 1e-9);
        expect(sum).toBeGreaterThan(0.99);
        const first = atLeast[place * (LONGEST_TICKS + 1) + 12];
        expect(ticks[first]).toBeGreaterThanOrEqual(12);
        if (first > begin[place]) expect(ticks[first - 1]).toBeLessThan(12);
      }
    }
  });

  it('treats an early onset as jitter: the clock makes up most of the difference', () => {
    const scores = timeScores([0.6]);
    scores.begin(0.27, 0);
    const row = scores.know(0, NOT_AHEAD);
    const ahead = aheadSec(scores.ahead[row * (LONGEST_TICKS + 1) + TICKS_PER_BEAT / 2]);
    expect(ahead).toBeGreaterThan(0.01);
    expect(ahead).toBeLessThan(0.03);
  });

  it('shares time scores that equal the density wherever the time is not a slip', () => {
    const tempos = [0.4, 0.6, 1];
    const scores = timeScores(tempos);
    fc.assert(
      fc.property(
        fc.double({ min: 0.05, max: 4, noNaN: true }),
        fc.constantFrom(0, 0.2, 1),
        fc.nat(AHEAD_STATES - 1),
        (sec, restSec, ahead) => {
          scores.begin(sec, restSec);
          for (const [tempo, beatSec] of tempos.entries()) {
            const row = scores.know(tempo, ahead);
            for (let ticks = scores.likely.fewest[row]; ticks <= scores.likely.most[row]; ticks++) {
              const direct = timeScore(sec - aheadSec(ahead), ticks * (beatSec / TICKS_PER_BEAT), restSec);
              expect(scores.scores[row * (LONGEST_TICKS + 1) + ticks]).toBeCloseTo(direct, 9);
              expect(direct).toBeGreaterThan(SLIP);
              expect(direct).toBeLessThanOrEqual(scores.peak[row] + 1e-9);
            }
          }
        },
      ),
    );
  });
});
