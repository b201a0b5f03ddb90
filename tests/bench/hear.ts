import { segment } from '../../src/analysis/notes/decoding/segment.ts';
import type { SoundEvent } from '../../src/analysis/notes/events.ts';
import { findEvents } from '../../src/analysis/notes/find-events.ts';
import { harpGlides, harpPitches } from '../../src/analysis/notes/pitches.ts';
import type { Segment } from '../../src/analysis/notes/states.ts';
import { analyseFrames, type Frames } from '../../src/analysis/pitch/frames.ts';
import { readRecording } from '../../src/audio/read.ts';
import type { Samples } from '../../src/audio/samples.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import type { LabelledTake } from './sets/takes.ts';

export const noPause = async (): Promise<void> => {};

/** The stages up to decoded stretches, on the harp of the truth. */
export async function hearSegments(
  take: LabelledTake,
): Promise<{ samples: Samples; frames: Frames; segments: Segment[] }> {
  const { samples } = await readRecording(take.path);
  const frames = await analyseFrames(samples, noPause);
  return { samples, frames, segments: segment(frames, harpPitches(playableNotes(take.harp))) };
}

/** The stages up to events, on the harp of the truth. */
export async function hearEvents(take: LabelledTake): Promise<SoundEvent[]> {
  const { samples, frames, segments } = await hearSegments(take);
  return findEvents(samples, frames, segments, harpGlides(playableNotes(take.harp)), [], noPause);
}
