import { findPlayable } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { isSettled } from '../../tab/flags.ts';
import type { Note } from '../../tab/note.ts';
import { sameTab, sameWritten, type TabNote, tabOf } from '../../tab/tab-note.ts';
import { centsBetween } from '../../units.ts';

/** Notes this close in pitch sound alike. */
const ALIKE_SEMITONES = 0.35;
/** A reading further than this from the pitch is not proposed, unless the decoder ranked it. */
const NEAR_CENTS = 70;
/**
 * Partials sound alike if they agree within this on average, in dB; those below the second limit, relative to the
 * strongest, are ignored.
 */
const ALIKE_DB = 6;
const LEAST_PARTIAL_DB = -40;

/**
 * Readings of a note in the order in which they are offered: the present one, then by rank, then by pitch.
 * @param f0Hz  what sounds, in Hz
 */
export function readingsOf(note: Note, f0Hz: number, playable: readonly PlayableNote[]): TabNote[] {
  const ring: TabNote[] = [tabOf(note)];
  const add = (other: TabNote) => {
    if (!ring.some((known) => sameWritten(known, other)) && findPlayable(playable, other) !== undefined)
      ring.push(tabOf(other));
  };
  const near = nearest(playable, f0Hz).filter(
    (other) => Math.abs(centsBetween(f0Hz, other.f0Hz)) < NEAR_CENTS,
  );
  // A reading for another pitch comes last.
  const isOff = !near.some((other) => sameTab(other, note));
  for (const other of isOff ? [...near, ...note.alternatives] : [...note.alternatives, ...near]) add(other);
  return ring;
}

/** Notes of a harp by distance from a pitch; if equal, plain before bent before overbent. */
export function nearest(playable: readonly PlayableNote[], f0Hz: number): PlayableNote[] {
  const far = (note: PlayableNote) => Math.abs(centsBetween(f0Hz, note.f0Hz));
  const effort = (note: PlayableNote) => (note.over ? 10 : note.bend);
  return [...playable].sort((a, b) =>
    Math.abs(far(a) - far(b)) < 5 ? effort(a) - effort(b) : far(a) - far(b),
  );
}

/** Unsettled notes that sound like this one, in pitch and partials, and were read as it was before it was corrected. */
function alike(notes: readonly Note[], corrected: Note, before: TabNote): Note[] {
  return notes.filter(
    (note) =>
      !isSettled(note) &&
      sameTab(note, before) &&
      note.id !== corrected.id &&
      Math.abs(note.midi - corrected.midi) < ALIKE_SEMITONES &&
      partialsDiffer(note, corrected) < ALIKE_DB,
  );
}

/** Average difference between the partials of two notes, in dB; 0 if not measured. */
function partialsDiffer({ partialsDb: a }: Note, { partialsDb: b }: Note): number {
  if (a === undefined || b === undefined) return 0;
  const heard = a.map((_, k) => k).filter((k) => Math.max(a[k], b[k]) > LEAST_PARTIAL_DB);
  return heard.reduce((sum, k) => sum + Math.abs(a[k] - b[k]), 0) / Math.max(1, heard.length);
}

/** Readings that a correction suggests for other notes; nothing changes before the player has seen them and agreed. */
export interface Offer {
  readonly readings: readonly (readonly [id: string, as: TabNote])[];
  /** Whether the player has been shown which notes they are. */
  readonly isShown: boolean;
}

/**
 * What else a correction may mean: the notes that sound like the corrected one.
 * @param at  position of the corrected note
 * @param before  how it was read before
 */
export function offerAfter(notes: readonly Note[], at: number, before: TabNote): Offer | null {
  const corrected = notes[at];
  const readings = alike(notes, corrected, before).map(({ id }) => [id, tabOf(corrected)] as const);
  return readings.length === 0 ? null : { readings, isShown: false };
}
