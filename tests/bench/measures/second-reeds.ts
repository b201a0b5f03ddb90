import type { Pair } from '../scores/metrics.ts';

interface TrueReed {
  readonly leak: { readonly hole: number; readonly dB: number } | null;
}
interface FoundReed {
  readonly leak: { readonly hole: number; readonly levelDb: number } | null;
}

/** Second reeds from `LOUD_DB` on; weaker ones count neither as missed nor as found. */
export interface ReedTally {
  /** Notes that have one, and those of them in which the same hole was found. */
  readonly loud: number;
  readonly found: number;
  /** Findings that say so loud a reed, and those of them whose hole is right, however loud it really is. */
  readonly said: number;
  readonly right: number;
  /** Found minus true level of those that were found, in dB. */
  readonly levelErrorDb: readonly number[];
}

/** A second reed from this level on must be found; a lesson is not held up for weaker ones. */
export const LOUD_DB = -20;

/** Counts the second reeds of one take. Notes that were not found at all count as missed. */
export function tallyReeds(
  reference: readonly TrueReed[],
  estimate: readonly FoundReed[],
  pairs: readonly Pair[],
): ReedTally {
  const referenceOf = new Map(pairs.map(([r, e]) => [e, r]));
  const rightHole = ([r, e]: Pair): boolean =>
    reference[r].leak !== null && reference[r].leak?.hole === estimate[e].leak?.hole;
  const found = pairs.filter((pair) => rightHole(pair) && reference[pair[0]].leak!.dB >= LOUD_DB);
  const said = estimate.flatMap(({ leak }, e) => (leak !== null && leak.levelDb >= LOUD_DB ? [e] : []));
  return {
    loud: reference.filter(({ leak }) => leak !== null && leak.dB >= LOUD_DB).length,
    found: found.length,
    said: said.length,
    right: said.filter((e) => {
      const r = referenceOf.get(e);
      return r !== undefined && rightHole([r, e]);
    }).length,
    levelErrorDb: found.map(([r, e]) => estimate[e].leak!.levelDb - reference[r].leak!.dB),
  };
}

export function addReeds(tallies: readonly ReedTally[]): ReedTally {
  const sum = (pick: (tally: ReedTally) => number): number =>
    tallies.reduce((total, tally) => total + pick(tally), 0);
  return {
    loud: sum(({ loud }) => loud),
    found: sum(({ found }) => found),
    said: sum(({ said }) => said),
    right: sum(({ right }) => right),
    levelErrorDb: tallies.flatMap(({ levelErrorDb }) => levelErrorDb),
  };
}
