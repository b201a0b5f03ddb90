import type { CombFinding } from './reed-comb.ts';

/**
 * A reed goes with its breath, and so with the note beside it; a plucked string falls from its attack on. From this fall
 * against the note on, in dB, it is more like a string. [of 33 reeds in labelled takes one falls
 * so, of 29 findings in guitar takes, a few of them reeds, 14; in rooms reeds waver more]
 */
const FALLS_DB = 4;
const FALLS_OF_REEDS = 0.1;
const FALLS_OF_STRINGS = 0.6;
/**
 * Beside a note the reeds of the other breath can't sound: in how many notes one is found all the same, where another
 * instrument plays along and where none does. [labelled takes with a guitar and others]
 */
const OTHER_BREATH_ACCOMPANIED = 0.12;
const OTHER_BREATH_ALONE = 0.015;
/** How often a take has another instrument in it. [assumed] */
const ACCOMPANIMENT_PRIOR = 0.05;
/** Windows in which a note must be seen for what is held in it to be told from what falls. */
const FEWEST_WINDOWS = 3;

/**
 * Whether another instrument is likely to sound in a take.
 * @param found what was found beside its notes, and how it goes on
 * @param otherBreath for each note, whether a reed of the other breath was found beside it
 */
export function hasAccompaniment(
  found: readonly Pick<CombFinding, 'windowDb'>[],
  otherBreath: readonly boolean[],
): boolean {
  let logOdds = Math.log(ACCOMPANIMENT_PRIOR / (1 - ACCOMPANIMENT_PRIOR));
  for (const there of otherBreath) {
    logOdds += there
      ? Math.log(OTHER_BREATH_ACCOMPANIED / OTHER_BREATH_ALONE)
      : Math.log((1 - OTHER_BREATH_ACCOMPANIED) / (1 - OTHER_BREATH_ALONE));
  }
  for (const { windowDb } of found) {
    if (windowDb.length < FEWEST_WINDOWS) continue;
    logOdds +=
      fallDb(windowDb) >= FALLS_DB
        ? Math.log(FALLS_OF_STRINGS / FALLS_OF_REEDS)
        : Math.log((1 - FALLS_OF_STRINGS) / (1 - FALLS_OF_REEDS));
  }
  return logOdds > 0;
}

/** Whether something beside a note was surely held as long as it; what is too short to be told is not. */
export function isHeld({ windowDb }: Pick<CombFinding, 'windowDb'>): boolean {
  return windowDb.length >= FEWEST_WINDOWS && fallDb(windowDb) < FALLS_DB;
}

/** From the louder of the first two windows, since reeds are slower than strings to come in, to the last. */
function fallDb(windowDb: readonly number[]): number {
  return Math.max(windowDb[0], windowDb[1]) - windowDb[windowDb.length - 1];
}
