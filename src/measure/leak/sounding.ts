import { powerToDb } from '../../units.ts';
import type { CombFinding } from './reed-comb.ts';

/** A reed sounds in a window whose level is this near the loudest one's. */
const SOUNDING_DB = 12;

/** Share of the windows in which the reed sounds. */
export const soundingShare = ({ windowDb }: CombFinding): number =>
  sounding(windowDb).length / windowDb.length;

/** Its level in those windows: over the whole note, a reed that sounds in half of it would seem 3 dB weaker. */
export function levelWhileSounding(finding: CombFinding): number {
  return finding.levelDb + soundingGainDb(finding);
}

/** Level in the windows in which a reed sounds against that over the whole note, in dB, ≥ 0. */
export function soundingGainDb({ windowDb }: CombFinding): number {
  const meanDb = (values: readonly number[]): number =>
    powerToDb(values.reduce((sum, value) => sum + 10 ** (value / 10), 0) / values.length);
  return meanDb(sounding(windowDb)) - meanDb(windowDb);
}

function sounding(windowDb: readonly number[]): readonly number[] {
  const loudest = Math.max(...windowDb);
  return windowDb.filter((levelDb) => levelDb > loudest - SOUNDING_DB);
}

/**
 * What of a meant reed is seen in any window is not softer than this against the note, and does not fall by so much. Of 15
 * reeds further off that were said in labelled takes without any, most of them the ring of a room, 14 do one or the
 * other; in takes that these were not chosen on, 5 of 6.
 */
const MEANT_WINDOW_DB = -13;
const MEANT_FALL_DB = 4;

/** Whether a reed sounds through a note as it does when it is meant. */
export function soundsThrough({ windowDb }: Pick<CombFinding, 'windowDb'>): boolean {
  const fallDb = windowDb[0] - windowDb[windowDb.length - 1];
  return Math.min(...windowDb) >= MEANT_WINDOW_DB && fallDb < MEANT_FALL_DB;
}
