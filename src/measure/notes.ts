import type { SoundEvent } from '../analysis/events.ts';
import type { Samples } from '../audio/samples.ts';
import type { PlayableNote } from '../harp/types.ts';
import type { HoleReading } from '../tab/holes.ts';
import type { NoteIntonation, NoteLeak } from '../tab/note.ts';
import { measureIntonation } from './intonation.ts';
import { findSecondReeds } from './second-reed.ts';

/** What measuring adds to a note. */
export interface NoteMeasures {
  readonly intonation: NoteIntonation | null;
  readonly leak: NoteLeak | null;
  /** Why something is missing, and faults. */
  readonly flags: readonly string[];
}

/** Measures every note of a take against the harp that it was played on. */
export function measureNotes(
  samples: Samples,
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  notes: readonly PlayableNote[],
): NoteMeasures[] {
  const leaks = findSecondReeds(samples, events, readings, notes);
  return events.map((event, i) => {
    const intonation = measureIntonation(event);
    return {
      intonation,
      leak: leaks[i],
      flags: intonation === null ? ['too-short-to-judge'] : [],
    };
  });
}
