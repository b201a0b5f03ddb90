import { hardestNotes } from '../arrange/explain.ts';
import { choiceOf, priced } from '../arrange/tablature.ts';
import { tuneFromMelody } from '../arrange/tune.ts';
import { DEFAULT_WEIGHTS } from '../arrange/weights.ts';
import { findPlayable } from '../harp/playable.ts';
import { melodyFromTake } from '../music/reading/take.ts';
import type { Score } from './score.ts';

/** At most one note in this many is marked, so that marks stay meaningful. */
const NOTES_A_MARK = 6;

/**
 * The hardest notes of a tune, by what `arrange` finds hard: bends, how they are reached, overbends, leaps.
 * @returns the reason in the player's words, by position of the note
 */
export function hardSpots({ take, harp }: Score): ReadonlyMap<number, string> {
  if (take.notes.length === 0 || harp.length === 0) return new Map();
  const tune = tuneFromMelody(melodyFromTake(take, harp).melody);
  const choices = take.notes.map((note) => {
    const playable = findPlayable(harp, note);
    return playable === undefined ? null : choiceOf(playable, harp);
  });
  const most = Math.ceil(take.notes.length / NOTES_A_MARK);
  const hardest = hardestNotes(tune, priced(tune, choices, DEFAULT_WEIGHTS), most);
  return new Map(hardest.map(({ noteIndex, why }) => [noteIndex, why.replace(/^line \d+, [^:]+: /, '')]));
}
