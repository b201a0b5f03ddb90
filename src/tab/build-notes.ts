import type { SoundEvent } from '../analysis/events.ts';
import { centsBetween } from '../units.ts';
import type { HoleReading } from './holes.ts';
import { DOUBTFUL_BELOW, type Note, type NoteStart } from './note.ts';

/** What only measuring adds to a note. */
export type NoteMeasured = Pick<Note, 'intonation' | 'leak' | 'flags'>;

/** Below this dip a note in the same breath is slurred, above it tongued. */
const TONGUE_DIP_DB = 2.2;

/**
 * Puts events, their readings and what was measured together as the notes of a take.
 * @param played probability that each event was played at all
 */
export function buildNotes(
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  played: readonly number[],
  measured: readonly NoteMeasured[],
): Note[] {
  return events.map((event, i) => {
    const [{ note, probability }, ...others] = readings[i];
    const { hole, breath, bend, over } = note;
    const confidence = probability * played[i];
    const flags = [...measured[i].flags];
    if (confidence < DOUBTFUL_BELOW) flags.unshift('doubtful-hole');
    return {
      id: `n${i + 1}`,
      onsetSec: event.onsetSec,
      offsetSec: event.offsetSec,
      f0Hz: event.f0Hz,
      midi: event.midi,
      hole,
      breath,
      bend,
      over,
      cents: centsBetween(event.f0Hz, note.f0Hz),
      confidence,
      alternatives: others.map((other) => ({
        hole: other.note.hole,
        breath: other.note.breath,
        bend: other.note.bend,
        over: other.note.over,
        confidence: other.probability * played[i],
      })),
      start: noteStart(event, note, readings[i - 1]?.[0].note),
      intonation: measured[i].intonation,
      leak: measured[i].leak,
      levelDb: event.levelDb,
      harmonicityDb: event.harmonicityDb,
      flags,
    };
  });
}

function noteStart(
  event: SoundEvent,
  note: HoleReading['note'],
  before: HoleReading['note'] | undefined,
): NoteStart {
  if (before === undefined || event.start === 'silence') return 'silence';
  if (before.breath !== note.breath) return 'breath';
  if (event.start === 'glide') return 'glide';
  if (event.start === 'repeat') return 'tongue';
  if (Math.abs(before.hole - note.hole) > 1) return 'jump';
  return event.dipDb < TONGUE_DIP_DB ? 'slur' : 'tongue';
}
