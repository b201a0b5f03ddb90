import type { SungNote } from './costs.ts';

/*
 * Chosen on the songs of `tests/bench/songs`, played three times with words for fewer verses, and with their last lines as an introduction.
 */
/** A stretch counts as the same melody if at most this share of its notes differ: verses vary, and notes are misheard. */
const OTHER_SHARE = 0.1;
/** It is compared only where, of its first notes, so many have the right pitch. */
const FIRST_NOTES = 8;
const FIRST_RIGHT = 6;
/** At most so many are compared, which is enough for any song. */
const MOST_NOTES = 400;

/**
 * Where the melody of some notes was first played: words for fewer verses than were played belong to the first of them, though a
 * later pass may have clearer breaths.
 * @param first,last  positions of the notes, inclusive
 * @param passes  how many passes they are
 * @returns the position of its first note in the earliest pass; `first` if there is no earlier one
 */
export function firstPass(notes: readonly SungNote[], first: number, last: number, passes: number): number {
  const pitches = notes.map(({ midi }) => (midi === undefined ? Number.NaN : Math.round(midi)));
  const sung = pitches.slice(first, Math.min(last + 1, first + MOST_NOTES));
  const start = Math.min(FIRST_NOTES, sung.length);
  const most = Math.floor(OTHER_SHARE * sung.length);
  let best = first;
  let fewest = most + 1;
  const pass = (last - first + 1) / passes;
  for (let from = 0; from <= first - pass + most; from++) {
    // Of places so near that their notes match as well, the best one is taken.
    if (fewest <= most && from > best + most) break;
    let right = 0;
    for (let i = 0; i < start; i++) if (pitches[from + i] === sung[i]) right++;
    if (right * FIRST_NOTES < FIRST_RIGHT * start) continue;
    const others = differences(sung, pitches.slice(from), most);
    if (others >= fewest) continue;
    fewest = others;
    best = from;
    if (others === 0) break;
  }
  return best;
}

/**
 * In how many notes a melody differs from the beginning of another: edit distance along a band, as further away too many would
 * differ.
 * @returns more than `most` if that is exceeded
 */
function differences(melody: readonly number[], other: readonly number[], most: number): number {
  const over = most + 1;
  let row = new Map<number, number>();
  for (let j = 0; j <= Math.min(most, other.length); j++) row.set(j, j);
  for (let i = 1; i <= melody.length; i++) {
    const next = new Map<number, number>();
    for (let j = Math.max(0, i - most); j <= Math.min(other.length, i + most); j++) {
      const skip = 1 + Math.min(row.get(j) ?? over, next.get(j - 1) ?? over);
      const pair = (row.get(j - 1) ?? over) + (melody[i - 1] === other[j - 1] ? 0 : 1);
      next.set(j, Math.min(skip, pair));
    }
    row = next;
    if (Math.min(over, ...row.values()) > most) return over;
  }
  return Math.min(over, ...row.values());
}
