import { measurePhraseLevel, type PhraseLevel } from '../../measure/phrase-level.ts';
import { median } from '../../statistics.ts';
import type { Take } from '../../take/schema.ts';

/** The level of a phrase of a take. */
export interface LevelOfPhrase extends PhraseLevel {
  /** Counted from 1. */
  readonly phrase: number;
  readonly fromSec: number;
}

/** A phrase that gets softer by this much from its first note to its last fades: it ends about half as loud. */
const FADES_DB = 10;

/** The level of each phrase; phrases of few notes are left out. */
export function levelsOf({ notes, phrases }: Take): LevelOfPhrase[] {
  return phrases.flatMap(({ firstNote, lastNote }, i) => {
    const level = measurePhraseLevel(notes.slice(firstNote, lastNote + 1));
    return level === null ? [] : [{ phrase: i + 1, fromSec: notes[firstNote].onsetSec, ...level }];
  });
}

/** The level in a sentence, without a verdict: how loud to play is the player's own choice. Empty when there is nothing to say. */
export function levelRemark(levels: readonly LevelOfPhrase[]): string[] {
  if (levels.length === 0) return [];
  const spreadDb = median(levels.map((level) => level.spreadDb));
  const fading = levels.filter(({ changeDb }) => changeDb <= -FADES_DB);
  const fades = fading.map(({ phrase, changeDb }) => `phrase ${phrase} fades by ${Math.round(-changeDb)} dB`);
  return [
    [`level: two thirds of the notes within ${spreadDb.toFixed(1)} dB of their phrase`, ...fades].join('; '),
  ];
}
