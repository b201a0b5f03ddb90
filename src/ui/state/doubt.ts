import { findPlayable } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { CORRECTED, isSettled, readAgain } from '../../holes/redecode.ts';
import type { Note } from '../../tab/note.ts';
import { sameTab, type TabNote, tabOf } from '../../tab/tab-note.ts';
import { centsBetween } from '../../units.ts';

/** Notes this near in pitch sound alike. */
const ALIKE_SEMITONES = 0.35;
/** A reading further than this from the pitch is not proposed, unless the decoder ranked it. */
const NEAR_CENTS = 70;
/** A correction bears on this many notes on each side of it. */
const REACH_NOTES = 8;

/**
 * Readings of a note in the order in which they are gone through: as it is, then by rank, then by pitch.
 * @param f0Hz  what sounds, in Hz
 */
export function readingsOf(note: Note, f0Hz: number, playable: readonly PlayableNote[]): TabNote[] {
  const ring: TabNote[] = [tabOf(note)];
  const add = (other: TabNote) => {
    if (!ring.some((known) => sameTab(known, other)) && findPlayable(playable, other) !== undefined)
      ring.push(tabOf(other));
  };
  const near = nearest(playable, f0Hz).filter(
    (other) => Math.abs(centsBetween(f0Hz, other.f0Hz)) < NEAR_CENTS,
  );
  // What another pitch was taken for comes last.
  const isOff = !near.some((other) => sameTab(other, note));
  for (const other of isOff ? [...near, ...note.alternatives] : [...note.alternatives, ...near]) add(other);
  return ring;
}

/** Notes of a harp by how near they are to a pitch; of equal ones the plain before the bent before the overbent. */
export function nearest(playable: readonly PlayableNote[], f0Hz: number): PlayableNote[] {
  const far = (note: PlayableNote) => Math.abs(centsBetween(f0Hz, note.f0Hz));
  const effort = (note: PlayableNote) => (note.over ? 10 : note.bend);
  return [...playable].sort((a, b) =>
    Math.abs(far(a) - far(b)) < 5 ? effort(a) - effort(b) : far(a) - far(b),
  );
}

/** Unsettled notes that sound like this one and were read as it was read before it was corrected. */
export function alike(notes: readonly Note[], corrected: Note, before: TabNote): number[] {
  return notes.flatMap((note, i) =>
    !isSettled(note) &&
    sameTab(note, before) &&
    Math.abs(note.midi - corrected.midi) < ALIKE_SEMITONES &&
    note.id !== corrected.id
      ? [i]
      : [],
  );
}

/** Readings that a correction speaks for elsewhere; nothing is changed before the player agrees. */
export interface Offer {
  readonly readings: readonly (readonly [id: string, as: TabNote])[];
  /** Of these, notes that are like the corrected one; the others lie near it and follow from it. */
  readonly alike: number;
}

/**
 * What else a correction may mean: the notes like it, and notes around it that are read otherwise now that it is
 * known.
 * @param at  position of the corrected note
 * @param before  how it was read before
 */
export function offerAfter(
  notes: readonly Note[],
  at: number,
  before: TabNote,
  playable: readonly PlayableNote[],
): Offer | null {
  const corrected = notes[at];
  const readings = new Map<string, TabNote>();
  for (const i of alike(notes, corrected, before)) readings.set(notes[i].id, tabOf(corrected));
  const count = readings.size;
  const from = Math.max(0, at - REACH_NOTES);
  const around = notes.slice(from, at + REACH_NOTES + 1);
  const asBefore = around.map((note) =>
    note.id === corrected.id
      ? { ...note, ...before, flags: note.flags.filter((f) => f !== CORRECTED) }
      : note,
  );
  // Against the same window read without the correction: what differs there already has nothing to do with it.
  const unmoved = readAgain(asBefore, playable);
  readAgain(around, playable).forEach((note, i) => {
    const was = around[i];
    if (isSettled(was) || readings.has(was.id) || !sameTab(unmoved[i], was) || sameTab(note, was)) return;
    readings.set(was.id, tabOf(note));
  });
  return readings.size === 0 ? null : { readings: [...readings], alike: count };
}
