import type { Samples } from '../../audio/samples.ts';
import { ALONE, type Crew } from '../../parallel-stage.ts';
import type { Frames } from '../pitch/frames.ts';
import { OwnLevel } from '../pitch/partial-level.ts';
import type { SoundEvent } from './events.ts';
import { MEASURE_EVENTS } from './measure-events.ts';
import type { CanGlide } from './pitches.ts';
import { placeOnsets } from './place-onsets.ts';
import type { Segment } from './segment.ts';
import { cutRepeats } from './split-rearticulations.ts';

/** Turns decoded stretches into events: onsets and ends put right, repeats cut, pitch measured finely. */
export async function findEvents(
  samples: Samples,
  frames: Frames,
  segments: readonly Segment[],
  canGlide: CanGlide,
  pause: (fraction: number) => Promise<void>,
  crew: Crew = ALONE,
): Promise<SoundEvent[]> {
  const placed = placeOnsets(frames, new OwnLevel(samples), segments, canGlide);
  const stretches = await cutRepeats(samples, frames, placed, (fraction) => pause(fraction / 2), crew);
  const events = await crew.work(
    MEASURE_EVENTS,
    samples,
    { frames, stretches },
    stretches.length,
    (fraction) => pause((1 + fraction) / 2),
  );
  return events.flat();
}
