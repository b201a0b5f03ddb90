import { describe, expect, it } from 'vitest';
import { splitRearticulations } from '../../../src/analysis/notes/rearticulation/split-rearticulations.ts';
import type { Frames } from '../../../src/analysis/pitch/frames.ts';
import { Samples } from '../../../src/audio/samples.ts';
import type { WorkerPool } from '../../../src/parallel-stage.ts';
import { noPause } from '../tones.ts';

const TICKS = 400;

/** Where a note of two seconds is split if its level has these dips, each at a tick and with log odds of a new note. */
async function splitAt(...dips: readonly (readonly [tick: number, logOdds: number])[]): Promise<number[]> {
  const followed = {
    levelDb: new Float32Array(TICKS).fill(-20),
    dips: dips.map(([tick, logOdds]) => ({ tick, logOdds })),
  };
  const pool = { run: async () => [[followed]] } as unknown as WorkerPool;
  const note = { midi: 72, fromTick: 0, toTick: TICKS, glide: false };
  const stretches = await splitRearticulations(
    Samples.from(new Float32Array(1), 22050),
    {} as Frames,
    [note],
    noPause,
    pool,
  );
  return stretches.slice(1).map(({ fromTick }) => fromTick);
}

describe('a held note', () => {
  it('is split where it was struck again', async () => {
    expect(await splitAt([100, 4], [200, -3], [300, 4])).toEqual([100, 300]);
  });

  it('is split at the strike, not at a ripple just before it, which the same onset seems to belong to', async () => {
    expect(await splitAt([189, 0.8], [200, 10])).toEqual([200]);
    expect(await splitAt([200, 10], [211, 0.8])).toEqual([200]);
  });

  it('is split at both of two strikes as far apart as a tongue needs', async () => {
    expect(await splitAt([188, 1], [200, 10])).toEqual([188, 200]);
  });
});
