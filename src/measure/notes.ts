import type { SoundEvent } from '../analysis/events.ts';
import type { Samples } from '../audio/samples.ts';
import type { PlayableNote } from '../harp/types.ts';
import type { HoleReading } from '../tab/holes.ts';
import type { NoteIntonation, NoteLeak, NoteTone } from '../tab/note.ts';
import { hzToMidi } from '../units.ts';
import { findHeld, type HeldPitch } from './held.ts';
import { measureIntonation } from './intonation.ts';
import { type ReedOffsets, reedOffsetOf, reedOffsets } from './reed-offsets.ts';
import { findReeds } from './second-reed.ts';
import { measureTone } from './tone.ts';

/** What measuring adds to a note. */
export interface NoteMeasures {
  /** Mean pitch of the held part, without the way there, real-valued MIDI (A4 = 440 Hz). */
  readonly midi: number;
  /** Held pitch against the target of hole and technique on this harp as its reeds are, in cents. */
  readonly cents: number;
  readonly intonation: NoteIntonation | null;
  readonly leak: NoteLeak | null;
  readonly tone: NoteTone | undefined;
  /** Place of the reading that a second reed proves; 0 as a rule (see `NoteReeds`). */
  readonly reading: number;
  /** Why something is missing: `too-short-to-judge`, `too-noisy-to-judge`. */
  readonly flags: readonly string[];
}

/** Below this harmonicity pitch and reeds can't be told from what is around them (10 log10). */
const LEAST_HARMONICITY_DB = -3;

/** Measures every note of a take against the harp that it was played on. */
export function measureNotes(
  samples: Samples,
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  notes: readonly PlayableNote[],
): NoteMeasures[] {
  const reeds = findReeds(samples, events, readings, notes);
  const pitches = events.map(findHeld);
  const offsets = reedOffsets(
    events.map((event, i) => ({
      note: readings[i][reeds[i].reading].note,
      midi: pitches[i]?.midi ?? event.midi,
      heldSec: event.heldSec[1] - event.heldSec[0],
      sure: readings[i][0].probability,
    })),
  );
  return events.map((event, i) =>
    measureNote(samples, event, pitches[i], readings[i][reeds[i].reading].note, reeds[i], offsets),
  );
}

function measureNote(
  samples: Samples,
  event: SoundEvent,
  pitch: HeldPitch | null,
  note: PlayableNote,
  { leak, brightness, reading }: ReturnType<typeof findReeds>[number],
  offsets: ReedOffsets,
): NoteMeasures {
  const noisy = event.harmonicityDb < LEAST_HARMONICITY_DB;
  const midi = pitch?.midi ?? event.midi;
  const cents = 100 * (midi - hzToMidi(note.f0Hz)) - reedOffsetOf(offsets, note);
  const intonation = pitch === null || noisy ? null : measureIntonation(pitch);
  return {
    midi,
    cents,
    intonation:
      intonation === null || note.bend === 0
        ? intonation
        : { ...intonation, depthCents: 100 * note.bend - cents },
    leak: noisy ? null : leak,
    tone: noisy ? undefined : { ...measureTone(samples, event), brightness },
    reading,
    flags: noisy ? ['too-noisy-to-judge'] : intonation === null ? ['too-short-to-judge'] : [],
  };
}
