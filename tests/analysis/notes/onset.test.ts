import { describe, expect, it } from 'vitest';
import { heardOnset } from '../../../src/analysis/notes/onset.ts';
import { emptyEvidence, keepEvidence, rowOf } from '../../../src/analysis/pitch/evidence.ts';

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
