import { describe, expect, it } from 'vitest';
import { BACK_TICKS, heardOnset, refineOnset } from '../../../src/analysis/notes/onset.ts';
import { emptyEvidence, keepEvidence, rowOf } from '../../../src/analysis/pitch/evidence.ts';
import type { PartialLevel } from '../../../src/analysis/pitch/partial-level.ts';

const FRAMES = 200;
const E5 = 76;
const NEVER = -6;

/** Evidence of one pitch that begins at some frames, as surely as given in nats. */
function begun(...onsets: readonly (readonly [frame: number, nats: number])[]) {
  const evidence = emptyEvidence(FRAMES, 0);
  for (let frame = 0; frame < FRAMES; frame++) {
    const nats = onsets.find(([at]) => at === frame)?.[1] ?? NEVER;
    keepEvidence(evidence, frame, rowOf(evidence, E5), 3, nats, NEVER);
  }
  return evidence;
}

describe('the onset that the network hears', () => {
  it('is used if it is clearly not where the level rises', () => {
    expect(heardOnset(begun([88, 1]), [E5], 200, 0, 300)).toBe(176);
    expect(heardOnset(begun([108, 1]), [E5], 200, 0, 300)).toBe(216);
  });

  it('gives way to the level within 20 ms, which is finer', () => {
    expect(heardOnset(begun([102, 3]), [E5], 201, 0, 300)).toBe(201);
  });

  it('is not used if the network hears a beginning at the rise about as surely', () => {
    expect(heardOnset(begun([90, 1], [100, 0]), [E5], 200, 0, 300)).toBe(200);
  });

  it('is not that of a repeat 70 ms and more later if a beginning is heard at the rise at all', () => {
    expect(heardOnset(begun([100, -2], [108, 3]), [E5], 200, 0, 300)).toBe(200);
    expect(heardOnset(begun([100, -2], [105, 3]), [E5], 200, 0, 300)).toBe(210);
    expect(heardOnset(begun([100, -4], [108, 3]), [E5], 200, 0, 300)).toBe(216);
  });

  it('is not searched before the earliest tick or in the second half of the note', () => {
    expect(heardOnset(begun([88, 1]), [E5], 200, 190, 300)).toBe(200);
    expect(heardOnset(begun([112, 1]), [E5], 200, 0, 210)).toBe(200);
  });

  it('is the mean over all pitches if several holes sound', () => {
    const evidence = begun([90, 4]);
    expect(heardOnset(evidence, [E5], 200, 0, 300)).toBe(180);
    expect(heardOnset(evidence, [E5, E5 + 3, E5 + 7], 200, 0, 300)).toBe(200);
  });
});

/** The onset of a note whose partials have these levels in dB, tick by tick from the boundary at tick 100 on; -60 before. */
function onsetOf(...levels: readonly number[]): number {
  const level = Float32Array.from([...Array<number>(BACK_TICKS).fill(-60), ...levels]);
  const partialLevel = { measure: () => level } as unknown as PartialLevel;
  return refineOnset(partialLevel, 100, 100 + levels.length, new Float32Array(level.length), undefined, 0);
}

const steady = (ticks: number, db: number): number[] => Array<number>(ticks).fill(db);

describe('the onset where the level rises', () => {
  it('is where it last comes within 12 dB of its early peak', () => {
    expect(onsetOf(...steady(30, -20))).toBe(100);
    expect(onsetOf(-50, -45, -40, -35, ...steady(30, -20))).toBe(104);
  });

  it('is that of the first of two quick notes, be it softer', () => {
    expect(onsetOf(...steady(9, -28), ...steady(4, -45), ...steady(20, -20))).toBe(101);
    expect(onsetOf(...steady(9, -20), ...steady(4, -45), ...steady(20, -20))).toBe(100);
  });

  it('is not what sounds before by more than 10 dB softer, nor a waver on the way up', () => {
    expect(onsetOf(...steady(9, -33), ...steady(4, -45), ...steady(20, -20))).toBeGreaterThan(110);
    expect(onsetOf(...steady(9, -35), ...steady(4, -37), ...steady(20, -20))).toBeGreaterThan(110);
  });
});
