import { powerToDb } from '../../units.ts';
import type { CombFinding } from './reed-comb.ts';

/** A reed sounds in a window if its level there is this close to that in the loudest window. */
const SOUNDING_DB = 12;

/** Share of the windows in which the reed sounds. */
export const soundingShare = ({ windowDb }: CombFinding): number =>
  sounding(windowDb).length / windowDb.length;

/** Its level in those windows: averaged over the whole note, a reed that sounds in half of it would seem 3 dB weaker. */
export function levelWhileSounding(finding: CombFinding): number {
  return finding.levelDb + soundingGainDb(finding);
}

/** Level in the windows in which a reed sounds, relative to that over the whole note, in dB, ≥ 0. */
export function soundingGainDb({ windowDb }: CombFinding): number {
  const loud = sounding(windowDb);
  if (loud.length === windowDb.length) return 0;
  const meanDb = (values: readonly number[]): number =>
    powerToDb(values.reduce((sum, value) => sum + 10 ** (value / 10), 0) / values.length);
  return meanDb(loud) - meanDb(windowDb);
}

function sounding(windowDb: readonly number[]): readonly number[] {
  const loudest = Math.max(...windowDb);
  return windowDb.filter((levelDb) => levelDb > loudest - SOUNDING_DB);
}

/**
 * A reed that was meant is never softer than this relative to the note in any window, and never falls by this much. Of 15
 * reeds beyond the adjacent hole reported in labelled takes that have none, most of them the ring of a room, 14 break one
 * of these rules; in takes on which the rules were not chosen, 5 of 6 do.
 */
const MEANT_WINDOW_DB = -13;
const MEANT_FALL_DB = 4;

/** Whether a reed sounds throughout a note as one that was meant does. */
export function soundsThrough({ windowDb }: Pick<CombFinding, 'windowDb'>): boolean {
  const fallDb = windowDb[0] - windowDb[windowDb.length - 1];
  return Math.min(...windowDb) >= MEANT_WINDOW_DB && fallDb < MEANT_FALL_DB;
}
