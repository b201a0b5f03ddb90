import type { SoundEvent } from '../analysis/notes/events.ts';
import { FinePitchMeter } from '../analysis/pitch/fine-pitch.ts';
import type { Samples } from '../audio/samples.ts';
import type { PlayableNote } from '../harp/types.ts';
import type { HoleReading } from '../holes/holes.ts';
import { type ParallelStage, SEQUENTIAL, type WorkerPool } from '../parallel-stage.ts';
import { CLIPPED, MAYBE_TWO, NOISY, SHORT } from '../tab/flags.ts';
import type { NoteIntonation, NoteLeak, NoteTone } from '../tab/note.ts';
import type { NoteOrnament } from '../tab/ornament.ts';
import { hzToMidi } from '../units.ts';
import { findClipped, type Peaks, peakMeter } from './clipping.ts';
import { findHeld } from './held.ts';
import { measureIntonation } from './intonation.ts';
import { findReeds, type NoteReeds, noteObserver, type ObservedNote } from './leak/leaks.ts';
import type { LouderReed } from './leak/louder-reed.ts';
import { BandMeter } from './ornaments/bands.ts';
import { findOrnaments, LEAST_WAVES_SEC } from './ornaments/ornaments.ts';
import { withTail } from './ornaments/tail.ts';
import { type ReedOffsets, reedOffsetOf, reedOffsets } from './reed-offsets.ts';
import { measureTone, type Tone } from './tone.ts';

/** What measuring adds to a note. */
export interface NoteMeasures {
  /** Mean pitch of the held part, without the approach, real-valued MIDI (A4 = 440 Hz). */
  readonly midi: number;
  /** Cents from the target of hole and technique on this harp, as its reeds are tuned, to the held pitch. */
  readonly cents: number;
  readonly intonation: NoteIntonation | null;
  readonly leak: NoteLeak | null;
  readonly tone: NoteTone | undefined;
  /** In time order; usually empty. */
  readonly ornaments: readonly NoteOrnament[];
  /** Index of the reading that a second reed proves; usually 0 (see `NoteReeds`). */
  readonly reading: number;
  /** A second reed that is the real note, since it is louder; usually null. */
  readonly louder: LouderReed | null;
  /** Where it may have been played again. */
  readonly againSec: number | undefined;
  /** Why something is missing: `too-short-to-judge`, `too-noisy-to-judge`, `clipped`. */
  readonly flags: readonly string[];
}

/** Below this harmonicity, pitch and reeds can't be separated from the sound around them (10 log10). */
const LEAST_HARMONICITY_DB = -3;
/**
 * Evidence for a re-articulation within a note is kept from the first value up, in nats: a note that is split is split there, and
 * `check` does not call a note missing that may be its second half. It is told from the second up, if neither of the two
 * notes would be shorter than this, in seconds: then 14 of 18 such notes in 102 takes of `--set hard` were two, 9 of 25 in 183 of
 * `--set tune`, 1 of 3 in 38 recordings of players. Of all that are kept it was 33 of 96.
 */
const AGAIN_NATS = -2;
const MAYBE_TWO_NATS = -1.5;
const SHORTEST_OF_TWO_SEC = 0.08;

/** What is measured from the sound of a note alone. */
interface NoteSound {
  readonly observed: ObservedNote;
  readonly midi: number;
  readonly intonation: NoteIntonation | null;
  readonly tone: Tone;
  readonly ornaments: readonly NoteOrnament[];
  readonly peaks: readonly Peaks[];
}

/** The notes of a take as read on its harp. */
interface ReadNotes {
  readonly events: readonly SoundEvent[];
  readonly readings: readonly HoleReading[][];
  readonly notes: readonly PlayableNote[];
}

/** Measures the sound of each note. */
export const MEASURE_NOTE_SOUNDS: ParallelStage<ReadNotes, NoteSound[]> = {
  name: 'measure note sounds',
  chunkSize: 20,
  begin(samples, { events, readings, notes }) {
    const observedAt = noteObserver(samples, events, readings, notes);
    const peaksOf = peakMeter(samples);
    const bands = new BandMeter(samples);
    const meter = new FinePitchMeter(samples);
    return (from, to) =>
      events.slice(from, to).map((event, i) => {
        const pitch = findHeld(event);
        return {
          observed: observedAt(from + i),
          midi: pitch?.midi ?? event.midi,
          intonation: pitch === null || isNoisy(event) ? null : measureIntonation(pitch),
          tone: measureTone(samples, event),
          ornaments: isNoisy(event)
            ? []
            : findOrnaments(
                event,
                events[from + i + 1],
                pitch,
                event.offsetSec - event.onsetSec < LEAST_WAVES_SEC || event.set !== undefined
                  ? null
                  : bands.measure(event),
                pitch === null ? undefined : withTail(meter, event, events[from + i + 1], pitch.midi),
              ),
          peaks: peaksOf(event),
        };
      });
  },
};

/** Measures every note of a take relative to the harp on which it was played. */
export async function measureNotes(
  samples: Samples,
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  notes: readonly PlayableNote[],
  pause: (fraction: number) => Promise<void>,
  pool: WorkerPool = SEQUENTIAL,
): Promise<NoteMeasures[]> {
  const given = { events, readings, notes };
  const sounds = (await pool.run(MEASURE_NOTE_SOUNDS, samples, given, events.length, pause)).flat();
  const reeds = findReeds(
    sounds.map(({ observed }) => observed),
    events,
    readings,
  );
  const clipped = findClipped(sounds.map(({ peaks }) => peaks));
  const offsets = reedOffsets(
    events.map(({ heldSec }, i) => ({
      note: readings[i][reeds[i].reading].note,
      midi: sounds[i].midi,
      heldSec: heldSec[1] - heldSec[0],
      sure: readings[i][0].probability,
    })),
  );
  return events.map((event, i) =>
    judgeNote(event, {
      sound: sounds[i],
      note: readings[i][reeds[i].reading].note,
      reeds: reeds[i],
      clipped: clipped[i],
      offsets,
    }),
  );
}

const isNoisy = ({ harmonicityDb }: SoundEvent): boolean => harmonicityDb < LEAST_HARMONICITY_DB;

function judgeNote(
  event: SoundEvent,
  {
    sound: { midi, intonation, tone, ornaments },
    note,
    reeds: { leak, brightness, reading, louder },
    clipped,
    offsets,
  }: {
    readonly sound: NoteSound;
    readonly note: PlayableNote;
    readonly reeds: NoteReeds;
    readonly clipped: boolean;
    readonly offsets: ReedOffsets;
  },
): NoteMeasures {
  const noisy = isNoisy(event);
  const again = event.again !== undefined && event.again.nats > AGAIN_NATS ? event.again.sec : undefined;
  const cents = 100 * (midi - hzToMidi(note.f0Hz)) - reedOffsetOf(offsets, note);
  return {
    midi,
    cents,
    intonation:
      intonation === null || note.bend === 0
        ? intonation
        : { ...intonation, depthCents: 100 * note.bend - cents },
    // In a note of several holes every reed was meant.
    leak: noisy || event.set !== undefined ? null : leak,
    // The tone of a clipped note is the recorder's: louder, evener and brighter. Pitch and reeds survive.
    tone: noisy || clipped ? undefined : { ...tone, brightness },
    ornaments,
    reading,
    louder: event.set === undefined ? louder : null,
    againSec: again,
    flags: [
      ...(noisy ? [NOISY] : intonation === null ? [SHORT] : []),
      ...(clipped ? [CLIPPED] : []),
      ...(isMaybeTwo(event) ? [MAYBE_TWO] : []),
    ],
  };
}

/** Whether a note is likely enough to have been struck twice for the player to be told. */
function isMaybeTwo({ again, onsetSec, offsetSec }: SoundEvent): boolean {
  if (again === undefined || again.nats <= MAYBE_TWO_NATS) return false;
  return Math.min(again.sec - onsetSec, offsetSec - again.sec) >= SHORTEST_OF_TWO_SEC;
}
