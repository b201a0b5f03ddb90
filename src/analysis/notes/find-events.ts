import type { Samples } from '../../audio/samples.ts';
import { SEQUENTIAL, type WorkerPool } from '../../parallel-stage.ts';
import type { Frames } from '../pitch/frames.ts';
import { PartialLevel } from '../pitch/partial-level.ts';
import { chordsOrLeaks } from './chord-or-leak.ts';
import type { SoundEvent } from './events.ts';
import { findOctaves } from './find-octaves.ts';
import { findShakes } from './find-shakes.ts';
import { MEASURE_EVENTS } from './measure-events.ts';
import type { CanGlide } from './pitches.ts';
import { placeOnsets } from './place-onsets.ts';
import { splitRearticulations } from './rearticulation/split-rearticulations.ts';
import type { ReedSet, Segment } from './states.ts';

/** Turns decoded stretches into events: corrects onsets and offsets, splits re-articulations, and measures pitch finely. */
export async function findEvents(
  samples: Samples,
  frames: Frames,
  segments: readonly Segment[],
  canGlide: CanGlide,
  sets: readonly ReedSet[],
  pause: (fraction: number) => Promise<void>,
  pool: WorkerPool = SEQUENTIAL,
): Promise<SoundEvent[]> {
  const level = new PartialLevel(samples);
  const placed = placeOnsets(frames, level, segments, canGlide);
  const split = await splitRearticulations(samples, frames, placed, (fraction) => pause(fraction / 2), pool);
  const shakes = sets.filter(({ shake }) => shake);
  const stretches = chordsOrLeaks(samples, findShakes(level, frames, split, shakes));
  const events = await pool.run(
    MEASURE_EVENTS,
    samples,
    { frames, stretches },
    stretches.length,
    (fraction) => pause((1 + fraction) / 2),
  );
  return findOctaves(samples, events.flat(), frames, sets);
}
