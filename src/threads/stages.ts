import { MEASURE_EVENTS } from '../analysis/notes/measure-events.ts';
import { FOLLOW_PITCHES } from '../analysis/notes/split-rearticulations.ts';
import { HEAR_FRAMES } from '../analysis/pitch/frames.ts';
import { LOOK_AT_NOTES } from '../measure/notes.ts';
import type { Part } from '../parallel-stage.ts';

/** Every part of the pipeline that a crew can divide, by name, for threads that are told names. */
export const PARTS: ReadonlyMap<string, Part<never, unknown>> = new Map(
  [HEAR_FRAMES, FOLLOW_PITCHES, MEASURE_EVENTS, LOOK_AT_NOTES].map((part) => [part.name, part]),
);
