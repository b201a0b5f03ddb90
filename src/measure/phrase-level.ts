import { median, quantile } from '../statistics.ts';
import { CLIPPED, NOISY, UNMEASURED } from '../tab/flags.ts';
import type { Note } from '../tab/note.ts';

/** How the level goes through a phrase. */
export interface PhraseLevel {
  /** Half the range of the middle 68 % of the notes' levels around their own line, in dB, ≥ 0: how uneven they are. */
  readonly spreadDb: number;
  /** How much louder the line is at the last note than at the first, in dB; negative fades. */
  readonly changeDb: number;
}

/** Of fewer notes nothing is said: two levels always lie on a line. */
const FEWEST_NOTES = 5;
/** Notes put in by hand have no level of their own, that of noisy ones is the noise's, of clipped ones the recorder's. */
const NOT_MEASURED: readonly string[] = [UNMEASURED, NOISY, CLIPPED];

/**
 * Evenness of level through a phrase, from the levels of its notes' held parts (`Note.levelDb`): a line by the median
 * of all slopes between two notes (Theil, 1950; Sen, JASA 63(324), 1379-1389, 1968), so that single loud notes don't
 * tilt it, and the spread around that line. The reeds of a harp differ by 2 to 3 dB by themselves in a recording, so
 * that an even player has a spread of about 2; a crescendo is a change and not a spread. How loud is no matter.
 * @returns null for fewer than five notes whose level was measured
 */
export function measurePhraseLevel(
  notes: readonly Pick<Note, 'onsetSec' | 'levelDb' | 'flags'>[],
): PhraseLevel | null {
  const told = notes.filter(({ flags }) => !flags.some((flag) => NOT_MEASURED.includes(flag)));
  if (told.length < FEWEST_NOTES) return null;
  const slopes: number[] = [];
  for (let i = 0; i < told.length; i++) {
    for (let k = i + 1; k < told.length; k++) {
      const apartSec = told[k].onsetSec - told[i].onsetSec;
      if (apartSec > 0) slopes.push((told[k].levelDb - told[i].levelDb) / apartSec);
    }
  }
  if (slopes.length === 0) return null;
  const slope = median(slopes);
  const around = told.map(({ onsetSec, levelDb }) => levelDb - slope * onsetSec);
  return {
    spreadDb: (quantile(around, 0.84) - quantile(around, 0.16)) / 2,
    changeDb: slope * (told[told.length - 1].onsetSec - told[0].onsetSec),
  };
}
