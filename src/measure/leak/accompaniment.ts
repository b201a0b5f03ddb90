import type { CombFinding } from './reed-comb.ts';

/**
 * A reed lasts as long as its breath, and so as long as the note beside it; a plucked string fades from its attack on. A sound
 * that falls this far relative to the note, in dB, is probably a string. [in labelled takes, one of 33 reeds; of 29 findings in
 * takes with a guitar, some of them reeds, 14; in rooms reeds waver more]
 */
const FALLS_DB = 4;
const FALLS_OF_REEDS = 0.1;
const FALLS_OF_STRINGS = 0.6;
/**
 * The reeds of the other breath can't sound beside a note. How often one is found all the same, in takes with another
 * instrument and in takes without. [labelled takes with a guitar and others]
 */
const OTHER_BREATH_ACCOMPANIED = 0.12;
const OTHER_BREATH_ALONE = 0.015;
/** How many takes have another instrument in them. [assumed] */
const ACCOMPANIMENT_PRIOR = 0.05;
/** Fewer windows than this can't distinguish a held sound from a fading one. */
const FEWEST_WINDOWS = 3;

/**
 * Whether another instrument is likely to sound in a take.
 * @param found  what was found beside its notes
 * @param otherBreath  for each note, whether a reed of the other breath was found beside it
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

/** Whether a sound beside a note was certainly held as long as it; false if it is too short to say. */
export function isHeld({ windowDb }: Pick<CombFinding, 'windowDb'>): boolean {
  return windowDb.length >= FEWEST_WINDOWS && fallDb(windowDb) < FALLS_DB;
}

/** How far it falls from the louder of the first two windows, as reeds start more slowly than strings, to the last one. */
function fallDb(windowDb: readonly number[]): number {
  return Math.max(windowDb[0], windowDb[1]) - windowDb[windowDb.length - 1];
}
