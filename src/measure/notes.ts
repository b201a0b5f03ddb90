import type { SoundEvent } from '../analysis/events.ts';
import type { Samples } from '../audio/samples.ts';
import type { PlayableNote } from '../harp/types.ts';
import type { HoleReading } from '../tab/holes.ts';
import type { NoteIntonation, NoteLeak, NoteTone } from '../tab/note.ts';
import { hzToMidi } from '../units.ts';
import { findClipped } from './clipping.ts';
import { findHeld, type HeldPitch } from './held.ts';
import { measureIntonation } from './intonation.ts';
import { type ReedOffsets, reedOffsetOf, reedOffsets } from './reed-offsets.ts';
import { findReeds, type NoteReeds } from './second-reed.ts';
import { measureTone } from './tone.ts';
import { CLIPPED, NOISY, SHORT } from './unmeasurable.ts';

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
  /** Why something is missing: `too-short-to-judge`, `too-noisy-to-judge`, `clipped`. */
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
  const clipped = findClipped(samples, events);
  const offsets = reedOffsets(
    events.map((event, i) => ({
      note: readings[i][reeds[i].reading].note,
      midi: pitches[i]?.midi ?? event.midi,
      heldSec: event.heldSec[1] - event.heldSec[0],
      sure: readings[i][0].probability,
    })),
  );
  return events.map((event, i) =>
    measureNote(samples, event, {
      pitch: pitches[i],
      note: readings[i][reeds[i].reading].note,
      reeds: reeds[i],
      clipped: clipped[i],
      offsets,
    }),
  );
}

function measureNote(
  samples: Samples,
  event: SoundEvent,
  {
    pitch,
    note,
    reeds: { leak, brightness, reading },
    clipped,
    offsets,
  }: {
    readonly pitch: HeldPitch | null;
    readonly note: PlayableNote;
    readonly reeds: NoteReeds;
    readonly clipped: boolean;
    readonly offsets: ReedOffsets;
  },
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
    // A clipped tone is the recorder's: as loud and even as it can be, and brighter. Pitch and reeds outlast it.
    tone: noisy || clipped ? undefined : { ...measureTone(samples, event), brightness },
    reading,
    flags: [...(noisy ? [NOISY] : intonation === null ? [SHORT] : []), ...(clipped ? [CLIPPED] : [])],
  };
}
