import { MEASURE_EVENTS } from '../analysis/notes/measure-events.ts';
import { FOLLOW_PITCHES } from '../analysis/notes/rearticulation/split-rearticulations.ts';
import { HEAR_FRAMES } from '../analysis/pitch/frames.ts';
import { MEASURE_NOTE_SOUNDS } from '../measure/notes.ts';
import type { ParallelStage } from '../parallel-stage.ts';

/** Every stage that a pool can divide, by name, since threads are sent only the name. */
export const PARALLEL_STAGES: ReadonlyMap<string, ParallelStage<never, unknown>> = new Map(
  [HEAR_FRAMES, FOLLOW_PITCHES, MEASURE_EVENTS, MEASURE_NOTE_SOUNDS].map((stage) => [stage.name, stage]),
);
