import type { Take } from '../../take/schema.ts';
import type { Match } from './match.ts';
import type { Reference } from './reference.ts';
import { Beginnings } from './split-notes.ts';

type TakeNote = Take['notes'][number];

/** Repeated notes of the reference where the student's recording has one long note. */
export interface HeldThrough {
  /** Places in the reference of the notes that were not heard again. */
  readonly places: ReadonlySet<number>;
  /**
   * False when there are so many that the recording, usually one made in a live room, must be hiding how repeats began.
   */
  readonly told: boolean;
}

/** The note before must sound through this share of the repeated one, whose time follows from the student's tempo. */
const SOUNDS_ON_SHARE = 0.4;
/**
 * From this share of the repeats on, it is likelier that the recording hides them than that they were not played: a
 * fifth of tongued repeats are not heard in rooms, none are missed in dry recordings, and students hold about two in a
 * hundred through.
 */
const HIDDEN_SHARE = 0.1;

/** Finds missed notes with the pitch of the note before, where that note was held through them. */
export function findHeldThrough(match: Match, notes: readonly TakeNote[], reference: Reference): HeldThrough {
  const places = new Set<number>();
  let repeats = 0;
  let before: { readonly a: number; readonly b: number } | null = null;
  for (const step of match.steps) {
    if (step.kind === 'added') continue;
    if (step.kind === 'back') {
      before = null;
      continue;
    }
    const { b } = step;
    const repeated = before !== null && reference.notes[before.b].midi === reference.notes[b].midi;
    if (repeated) repeats++;
    if (step.kind === 'pair') {
      before = { a: step.a, b };
    } else if (repeated && soundsOn(notes[before!.a], before!.a, b, match, reference)) {
      places.add(b);
      before = { a: before!.a, b };
    } else {
      if (repeated) repeats--;
      before = null;
    }
  }
  return { places, told: places.size <= HIDDEN_SHARE * repeats && !new Beginnings(notes).hidesRepeats };
}

function soundsOn(note: TakeNote, a: number, b: number, match: Match, { notes, timed }: Reference): boolean {
  if (!timed) return false;
  const { onset, length } = notes[b];
  const fromSec = match.tempo.secOf(onset, a);
  const toSec = match.tempo.secOf(onset + SOUNDS_ON_SHARE * length, a);
  return fromSec !== null && toSec !== null && toSec > fromSec && note.offsetSec >= toSec;
}
