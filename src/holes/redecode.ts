import type { EventStart, SoundEvent } from '../analysis/notes/events.ts';
import { findPlayable } from '../harp/playable.ts';
import type { PlayableNote } from '../harp/types.ts';
import { ACCEPTED, CORRECTED, DOUBTFUL, isSettled } from '../tab/flags.ts';
import { DOUBTFUL_BELOW, type Note, type NoteStart } from '../tab/note.ts';
import { sameTab, tabOf } from '../tab/tab-note.ts';
import { centsBetween } from '../units.ts';
import { readHoles } from './holes.ts';

/*
 * A note keeps how it began, but not the dip in level that showed it. These dips stand in for it: near the point where
 * both breaths are equally likely (2.2 dB) if the start says nothing about the breath, clearly shallow for a slur,
 * clearly deep for the tongue.
 */
const EVEN_DIP_DB = 1.9;
const STARTS: Readonly<Record<NoteStart, readonly [start: EventStart, dipDb: number]>> = {
  silence: ['silence', 0],
  breath: ['gap', 4],
  tongue: ['gap', 4],
  slur: ['slur', 0.4],
  glide: ['glide', 0.4],
  jump: ['slur', EVEN_DIP_DB],
};

/** The event from which a note was read, as far as it can be restored from the note. */
function eventOf(note: Note): SoundEvent {
  const [start, dipDb] = STARTS[note.start];
  return {
    onsetSec: note.onsetSec,
    offsetSec: note.offsetSec,
    start,
    midi: note.midi,
    expectedMidi: note.midi,
    f0Hz: note.f0Hz,
    contourMidi: new Float32Array(),
    heldSec: [note.onsetSec, note.offsetSec],
    levelDb: note.levelDb,
    harmonicityDb: note.harmonicityDb,
    dipDb,
    strength: 0,
    soundingNats: 0,
    onsetNats: 0,
    partialsDb: Float32Array.from(note.partialsDb ?? []),
  };
}

/**
 * Reads the holes and breaths of notes again, on another harp or after some were settled. Settled notes stay as they
 * are if the harp has them, and the notes around them are read accordingly.
 * @returns the same notes with new readings; a note whose reading is unchanged keeps its confidence and is the same object
 */
export function readAgain(notes: readonly Note[], playable: readonly PlayableNote[]): Note[] {
  const fixed = notes.map((note) => (isSettled(note) ? findPlayable(playable, note) : undefined));
  const readings = readHoles(notes.map(eventOf), playable, undefined, fixed);
  return notes.map((note, i) => {
    const [{ note: chosen, probability }, ...others] = readings[i];
    const cents = centsBetween(note.f0Hz, chosen.f0Hz);
    if (sameTab(chosen, note) && (fixed[i] !== undefined || Math.abs(cents - note.cents) < 0.01)) {
      return cents === note.cents ? note : { ...note, cents };
    }
    // What the readings don't sum to is the doubt that it is one whole note; that doubt stays.
    const claim = Math.min(
      1,
      note.confidence + note.alternatives.reduce((sum, other) => sum + other.confidence, 0),
    );
    const confidence = probability * (isSettled(note) ? 1 : claim);
    const flags = note.flags.filter((flag) => flag !== DOUBTFUL && flag !== CORRECTED && flag !== ACCEPTED);
    return {
      ...note,
      ...tabOf(chosen),
      cents,
      confidence,
      alternatives: others.map((other) => ({ ...tabOf(other.note), confidence: other.probability * claim })),
      flags: probability < DOUBTFUL_BELOW ? [DOUBTFUL, ...flags] : flags,
    };
  });
}
