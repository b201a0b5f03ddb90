import { powerToDb } from '../units.ts';
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
