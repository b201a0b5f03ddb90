import { describe, expect, it } from 'vitest';
import { seededRng } from '../../../samples/synth/rng.ts';
import { BAND_STEP_SEC, type BandLevels } from '../../../src/measure/ornaments/bands.ts';
import { following } from '../../../src/measure/ornaments/following.ts';
import { handOf } from '../../../src/measure/ornaments/hands.ts';
import { levelMoves } from '../../../src/measure/ornaments/level-moves.ts';
import { LEVEL_NETWORKS } from '../../../src/measure/ornaments/level-network.ts';
import { mainCourse } from '../../../src/measure/ornaments/main-course.ts';
import { openingsIn } from '../../../src/measure/ornaments/openings.ts';

const F0_HZ = 300;
const NUMBERS = [1, 2, 3, 4, 6, 8, 10, 12];
const STEPS = 75;

/** Partials of 300 Hz to 3.6 kHz over a second and a half. @param db of a partial at a time */
function bandsOf(db: (hz: number, sec: number, number: number) => number): BandLevels {
  const partials = NUMBERS.map((number) =>
    Float64Array.from({ length: STEPS }, (_, i) => db(number * F0_HZ, i * BAND_STEP_SEC, number)),
  );
  const mean = (which: (hz: number) => boolean): number[] => {
    const used = partials.filter((_, k) => which(NUMBERS[k] * F0_HZ));
    return Array.from({ length: STEPS }, (_, i) => used.reduce((sum, one) => sum + one[i], 0) / used.length);
  };
  return {
    all: mean(() => true),
    low: mean((hz) => hz < 1200),
    high: mean((hz) => hz >= 1500),
    partials,
    numbers: NUMBERS,
  };
}

const wave = (hz: number, sec: number): number => Math.sin(2 * Math.PI * hz * sec);
const dimmed = (hz: number): number => Math.max(0, Math.min(1, Math.log2(hz / 500) / 2));

describe('partials that follow a course', () => {
  it('all alike by breath, the upper ones further by hands', () => {
    const breath = bandsOf((_, sec) => 3 * wave(5, sec));
    const hands = bandsOf((hz, sec) => (1 + 6 * dimmed(hz)) * wave(5, sec));
    const byBreath = following(breath, F0_HZ, breath.all, 0, STEPS);
    const byHands = following(hands, F0_HZ, hands.all, 0, STEPS);
    expect(byBreath.low).toBeCloseTo(1, 3);
    expect(byBreath.high).toBeCloseTo(1, 3);
    expect(byBreath.handlike).toBeLessThan(-0.1);
    expect(byHands.high).toBeGreaterThan(3 * byHands.low);
    expect(byHands.handlike).toBeGreaterThan(0.1);
  });

  it('have one course in common, though some of them are lost in noise', () => {
    const rng = seededRng(3);
    const noisy = bandsOf((_, sec, number) => (number === 4 ? 12 * rng.normal() : 3 * wave(4, sec)));
    const { course, share, slopes } = mainCourse(noisy, F0_HZ, 0, STEPS);
    const peak = Math.max(...course.slice(10, -10));
    expect(peak).toBeGreaterThan(2.3);
    expect(peak).toBeLessThan(3.7);
    expect(share).toBeGreaterThan(0.8);
    for (const slope of slopes) expect(Math.abs(slope - 1)).toBeLessThan(0.25);
  });
});

describe('openings', () => {
  it('are counted between turning points, and small changes are not', () => {
    const course = [...new Array(20).fill(0), ...new Array(20).fill(8), ...new Array(20).fill(1)];
    expect(openingsIn(course).map(({ change }) => change)).toEqual([8, -7]);
    expect(openingsIn(course.map((db) => db / 4))).toEqual([]);
  });

  it('of hands have their number, rate and depth', () => {
    const closed = (sec: number): number => 0.5 + 0.5 * Math.cos(2 * Math.PI * 1.4 * sec);
    const hand = handOf(
      bandsOf((hz, sec) => -closed(sec) * (2 + 13 * dimmed(hz))),
      0,
      STEPS,
    )!;
    expect(hand.changes).toBe(4);
    expect(Math.abs((hand.rateHz ?? 0) - 1.4)).toBeLessThan(0.2);
    expect(hand.brightnessDb).toBeGreaterThan(6);
  });

  it('are neither a breath that slowly swells nor a note that dies away', () => {
    const swells = bandsOf((hz, sec) => 10 * sec * (0.3 + dimmed(hz)));
    const dies = bandsOf((hz, sec) => -Math.max(0, sec - 1.1) * 40 * (0.3 + dimmed(hz)));
    const opens = bandsOf((hz, sec) => (sec < 0.7 ? -10 : 0) * (0.3 + dimmed(hz)));
    expect(handOf(swells, 0, STEPS)).toBeNull();
    expect(handOf(dies, 0, STEPS)).toBeNull();
    expect(handOf(opens, 0, STEPS)).toMatchObject({ changes: 1 });
  });

  it('are not told of levels that stay', () => {
    expect(
      handOf(
        bandsOf(() => 0),
        0,
        STEPS,
      ),
    ).toBeNull();
  });
});

describe('how levels move', () => {
  const note = { f0Hz: F0_HZ, harmonicityDb: 25, lengthSec: STEPS * BAND_STEP_SEC };

  it('is not judged in too short a part', () => {
    expect(
      levelMoves(
        bandsOf(() => 0),
        [0.5, 0.6],
        null,
        note,
      ),
    ).toBeNull();
  });

  it('gives as much evidence of a note that stays as of one that moves', () => {
    const stays = levelMoves(
      bandsOf(() => 0),
      [0.1, 1.4],
      null,
      note,
    )!;
    const moves = levelMoves(
      bandsOf((_, sec) => 4 * wave(5, sec)),
      [0.1, 1.4],
      null,
      note,
    )!;
    expect(stays.tremolo).toBeNull();
    expect(moves.tremolo?.rateHz).toBeCloseTo(5, 0);
    expect(moves.evidence()).toHaveLength(stays.evidence().length);
    for (const { direct, hidden } of [LEVEL_NETWORKS.tremolo, LEVEL_NETWORKS.hand])
      for (const inputs of [direct, ...hidden.map((unit) => unit.inputs)])
        expect(inputs).toHaveLength(stays.evidence().length);
    expect([...moves.evidence(), ...stays.evidence()].every(Number.isFinite)).toBe(true);
  });
});
