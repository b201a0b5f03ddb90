import type { Note } from './note.ts';

/** Flags of notes that a player has settled; decoding again leaves these notes as they are. */
export const CORRECTED = 'corrected';
export const ACCEPTED = 'accepted';
/** Flag of notes that were inserted by hand and never measured: their pitch is that of their hole. */
export const UNMEASURED = 'not-measured';
export const DOUBTFUL = 'doubtful-hole';
/** Flag of a note that may have been struck a second time, too softly to be sure. */
export const MAYBE_TWO = 'maybe-two';

/** True when a player has said what this note is. */
export function isSettled(note: Pick<Note, 'flags'>): boolean {
  return note.flags.includes(CORRECTED) || note.flags.includes(ACCEPTED);
}

/**
 * Flags of a note that say why a measure is missing (`Note.flags`): too much noise for pitch and reeds, too short a
 * held part for intonation, clipped so that level, attack and brightness are the recorder's.
 */
export const NOISY = 'too-noisy-to-judge';
export const SHORT = 'too-short-to-judge';
export const CLIPPED = 'clipped';
