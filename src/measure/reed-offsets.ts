import type { PlayableNote } from '../harp/types.ts';
import { median } from '../statistics.ts';
import { hzToMidi } from '../units.ts';

/** A held note, as evidence of how its reed is tuned. */
export interface HeldNote {
  readonly note: PlayableNote;
  /** Mean pitch of the held part, real-valued MIDI (A4 = 440 Hz). */
  readonly midi: number;
  readonly heldSec: number;
  /** Probability of its hole, [0, 1]. */
  readonly sure: number;
}

/** How far single reeds are from the harp's temperament, in cents, by `reedKey`; reeds that are in tune are missing. */
export type ReedOffsets = ReadonlyMap<string, number>;

/** A note held for less time, or read with less certainty, says nothing about its reed. */
const SHORTEST_SEC = 0.12;
const LEAST_SURE = 0.7;
/** A reed is off if at least this many notes agree on at least this much, and it is this many standard errors from zero. */
const FEWEST_NOTES = 3;
const LEAST_CENTS = 6;
const LEAST_ERRORS = 4;
/** Notes scatter by at least this around their reed, in cents (breath; [facts 1.5, 3.3]). */
const LEAST_SCATTER_CENTS = 3;
/** Converts a median absolute deviation to the standard deviation of a normal distribution. */
const MAD_TO_SD = 1.4826;

/** Key of the reed that a note sounds: an overbend sounds the higher reed of its hole, which belongs to the other breath. */
function reedKey(note: PlayableNote): string {
  const breath = note.over ? (note.breath === 'blow' ? 'draw' : 'blow') : note.breath;
  return `${note.hole} ${breath}`;
}

/**
 * Which reeds of the harp are out of tune with the others, from the plain notes of a take. Since the breath scatters notes, a
 * reed counts as off only if several notes agree and differ from the rest by four standard errors; bends and overbends of
 * that reed are then judged relative to it.
 */
export function reedOffsets(held: readonly HeldNote[]): ReedOffsets {
  const byReed = new Map<string, number[]>();
  for (const { note, midi, heldSec, sure } of held) {
    if (note.bend > 0 || note.over || heldSec < SHORTEST_SEC || sure < LEAST_SURE) continue;
    const key = reedKey(note);
    byReed.set(key, [...(byReed.get(key) ?? []), 100 * (midi - hzToMidi(note.f0Hz))]);
  }
  const centres = new Map([...byReed].map(([key, values]) => [key, median(values)]));
  const within = [...byReed].flatMap(([key, values]) =>
    values.map((value) => Math.abs(value - centres.get(key)!)),
  );
  const scatter = Math.max(LEAST_SCATTER_CENTS, within.length > 0 ? MAD_TO_SD * median(within) : 0);
  const offsets = new Map<string, number>();
  for (const [key, values] of byReed) {
    const centre = centres.get(key)!;
    const error = scatter / Math.sqrt(values.length);
    if (
      values.length < FEWEST_NOTES ||
      Math.abs(centre) < LEAST_CENTS ||
      Math.abs(centre) < LEAST_ERRORS * error
    )
      continue;
    offsets.set(key, centre);
  }
  return offsets;
}

/** How far the reed of a note is off, in cents; 0 if it is not. */
export function reedOffsetOf(offsets: ReedOffsets, note: PlayableNote): number {
  return offsets.get(reedKey(note)) ?? 0;
}
