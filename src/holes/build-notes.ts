import type { SoundEvent } from '../analysis/notes/events.ts';
import type { ReedSet } from '../analysis/notes/states.ts';
import { DOUBTFUL_BELOW, type Note, type NoteStart } from '../tab/note.ts';
import { asOrnamented, type NoteOrnament } from '../tab/ornament.ts';
import { centsBetween, midiToHz } from '../units.ts';
import type { HoleReading } from './holes.ts';

/** What measuring adds to a note. */
export interface NoteMeasured extends Pick<Note, 'intonation' | 'leak' | 'tone' | 'flags' | 'againSec'> {
  /** Pitch of the held part, and its cents from the actual reed; the event's own if missing. */
  readonly midi?: number;
  readonly cents?: number;
  /** Index of the reading that a second reed proves; the first if missing. */
  readonly reading?: number;
  /** In order of time. */
  readonly ornaments?: readonly NoteOrnament[];
}

/** A reading that a second reed proves is as sure as that finding (precision on the development takes). */
const PROVEN = 0.95;

/** Below this dip a note in the same breath is slurred, above it tongued. */
const TONGUE_DIP_DB = 2.2;

/**
 * Makes the notes of a take from events, their readings and what was measured.
 * @param claims probability that each event is one whole note of just its pitches
 */
export function buildNotes(
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  claims: readonly number[],
  measured: readonly NoteMeasured[],
): Note[] {
  return events.map((event, i) => {
    const [{ note, probability }, ...others] = ranked(readings[i], measured[i].reading ?? 0);
    const midi = measured[i].midi ?? event.midi;
    const f0Hz = midiToHz(midi);
    const { hole, breath, bend, over } = note;
    const confidence = probability * claims[i];
    const flags = [...measured[i].flags];
    if (probability < DOUBTFUL_BELOW) flags.unshift('doubtful-hole');
    return {
      id: `n${i + 1}`,
      onsetSec: event.onsetSec,
      offsetSec: event.offsetSec,
      f0Hz,
      midi,
      hole,
      breath,
      bend,
      over,
      cents: measured[i].cents ?? centsBetween(f0Hz, note.f0Hz),
      confidence,
      alternatives: others.map((other) => ({
        hole: other.note.hole,
        breath: other.note.breath,
        bend: other.note.bend,
        over: other.note.over,
        confidence: other.probability * claims[i],
      })),
      start: noteStart(event, note, readings[i - 1]?.[measured[i - 1].reading ?? 0].note),
      intonation: measured[i].intonation,
      leak: measured[i].leak,
      levelDb: event.levelDb,
      harmonicityDb: event.harmonicityDb,
      ...(measured[i].tone === undefined ? {} : { tone: measured[i].tone }),
      ...(event.partialsDb.length === 0 ? {} : { partialsDb: belowStrongest(event.partialsDb) }),
      flags,
      ...(measured[i].againSec === undefined ? {} : { againSec: measured[i].againSec }),
      ...(event.set === undefined ? {} : holesOf(event.set)),
      ...(event.notesPerSec === undefined ? {} : { shake: true }),
      ...asOrnamented([
        ...(event.notesPerSec === undefined
          ? []
          : [{ kind: 'shake' as const, notesPerSec: event.notesPerSec }]),
        ...(measured[i].ornaments ?? []),
      ]),
    };
  });
}

/** The holes of a set in ascending order, with their bends if any is bent. */
function holesOf({ holes, bends }: ReedSet): Pick<Note, 'holes' | 'holeBends'> {
  const ascending = [...holes].sort((a, b) => a - b);
  if (bends === undefined) return { holes: ascending };
  return { holes: ascending, holeBends: ascending.map((hole) => bends[holes.indexOf(hole)]) };
}

function belowStrongest(partialsDb: Float32Array): number[] {
  const strongest = partialsDb.reduce((a, b) => Math.max(a, b));
  // Adding 0 turns -0 into 0: JSON has no -0.
  return Array.from(partialsDb, (db) => Math.round(db - strongest) + 0);
}

/** The readings with the proven one first; the others lose the probability that it gains. */
function ranked(readings: readonly HoleReading[], proven: number): HoleReading[] {
  if (proven === 0) return [...readings];
  const others = readings.filter((_, i) => i !== proven);
  const rest = others.reduce((sum, { probability }) => sum + probability, 0);
  const share = rest > 0 ? (1 - PROVEN) / rest : 0;
  return [
    { ...readings[proven], probability: PROVEN },
    ...others.map((other) => ({ ...other, probability: other.probability * Math.min(1, share) })),
  ];
}

function noteStart(
  event: SoundEvent,
  note: HoleReading['note'],
  before: HoleReading['note'] | undefined,
): NoteStart {
  if (before === undefined || event.start === 'silence') return 'silence';
  if (before.breath !== note.breath) return 'breath';
  if (event.start === 'glide') return 'glide';
  if (event.start === 'rearticulation') return 'tongue';
  if (Math.abs(before.hole - note.hole) > 1) return 'jump';
  return event.dipDb < TONGUE_DIP_DB ? 'slur' : 'tongue';
}
