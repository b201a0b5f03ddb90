import type { PlayedNote } from './played.ts';
import type { ReferenceNote } from './reference.ts';

/** Transpositions that are tried besides none, the most promising first. */
const SHIFTS_TRIED = 4;
/** No two harps are more than three octaves apart. */
const WIDEST_SHIFT = 36;
/** Notes at the start of both that vote on the transposition. */
const VOTERS = 400;
/** Notes in a row whose intervals must agree for a vote. */
const VOTE_NOTES = 4;
/** A transposition must save this share of the cost to be preferred to playing at pitch. */
export const SHIFT_GAIN = 0.9;

/**
 * Transpositions for which runs of notes agree, by votes; playing at pitch comes first.
 * @param voters  notes from the start of the tune that vote
 */
export function likelyShifts(
  all: readonly PlayedNote[],
  notes: readonly ReferenceNote[],
  voters = VOTERS,
): number[] {
  const votes = new Map<number, number>();
  const played = all.filter(({ onlyFor }) => !onlyFor);
  const countA = Math.min(played.length, VOTERS);
  const countB = Math.min(notes.length, voters);
  for (let a = 0; a + VOTE_NOTES <= countA; a++) {
    for (let b = 0; b + VOTE_NOTES <= countB; b++) {
      const shift = played[a].midi - notes[b].midi;
      let agrees = Math.abs(shift) <= WIDEST_SHIFT;
      for (let k = 1; agrees && k < VOTE_NOTES; k++)
        agrees = played[a + k].midi - notes[b + k].midi === shift;
      if (agrees) votes.set(shift, (votes.get(shift) ?? 0) + 1);
    }
  }
  const ranked = [...votes].sort((x, y) => y[1] - x[1]).map(([shift]) => shift);
  return [0, ...ranked.filter((shift) => shift !== 0).slice(0, SHIFTS_TRIED)];
}
