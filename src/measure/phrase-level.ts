import { median, quantile } from '../statistics.ts';
import { CLIPPED, NOISY, UNMEASURED } from '../tab/flags.ts';
import type { Note } from '../tab/note.ts';

/** How the level changes through a phrase. */
export interface PhraseLevel {
  /** Half the range of the middle 68 % of the notes' levels around their trend line, in dB, ≥ 0: how uneven they are. */
  readonly spreadDb: number;
  /** Rise of the trend line from the first note to the last, in dB; negative for a fade. */
  readonly changeDb: number;
}

/** Fewer notes than this say nothing: two levels always lie on a line. */
const FEWEST_NOTES = 5;
/** Notes added by hand have no measured level, that of noisy ones is the noise's, and that of clipped ones the recorder's. */
const NOT_MEASURED: readonly string[] = [UNMEASURED, NOISY, CLIPPED];

/**
 * Evenness of level through a phrase, from the levels of its notes' held parts (`Note.levelDb`). The trend line has the median
 * of all slopes between two notes (Theil, 1950; Sen, JASA 63(324), 1379-1389, 1968), so that single loud notes don't tilt it,
 * and the spread is measured around it. The reeds of a harp differ by 2 to 3 dB in a recording, so even an even player has a
 * spread of about 2; a crescendo is a change and not a spread. Overall loudness does not matter.
 * @returns null if fewer than five notes have a measured level
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
