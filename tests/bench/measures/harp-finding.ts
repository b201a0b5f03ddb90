import { parseHarpKey } from '../../../src/harp/keys.ts';
import { LAYOUTS } from '../../../src/harp/layouts.ts';
import { temperamentById } from '../../../src/harp/temperaments.ts';
import { meanOver } from '../../../src/statistics.ts';
import { centsBetween } from '../../../src/units.ts';
import { f1, measureTake } from '../scores/measure.ts';
import { addTallies } from '../scores/metrics.ts';
import type { LabelledTake } from '../sets/takes.ts';
import type { JobResult } from '../worker.ts';

/** Takes with at most this many different pitches may not tell the harp. */
const FEW_PITCHES = 8;
const A4_CENTS = 2;

/** Counts over takes in which the harp was to be found. */
export interface HarpCounts {
  readonly takes: number;
  readonly right: number;
  readonly amongThree: number;
  /** Of takes with more than eight different pitches. */
  readonly manyPitches: number;
  readonly manyRight: number;
  readonly manyAmongThree: number;
  readonly a4Within2Cents: number;
  readonly temperamentRight: number;
  readonly tabF1: number;
}

/** How often key, tuning, A4 and temperament were found. */
export function harpReport(
  takes: readonly LabelledTake[],
  results: readonly JobResult[],
): { readonly counts: HarpCounts; readonly text: string } {
  const rows = takes.map((take, i) => {
    const found = results[i].harp;
    const ranked = found ? [found, ...found.alternatives].slice(0, 3) : [];
    return {
      many: new Set(take.notes.map((note) => note.nominalMidi)).size > FEW_PITCHES,
      right: ranked.length > 0 && sameHarp(ranked[0], take),
      amongThree: ranked.some((harp) => sameHarp(harp, take)),
      a4: found !== null && Math.abs(centsBetween(found.a4Hz, take.harp.a4Hz)) <= A4_CENTS,
      temperament:
        found !== null && temperamentId(found.temperament) === temperamentId(take.harp.temperament),
    };
  });
  const many = rows.filter((row) => row.many);
  const counts: HarpCounts = {
    takes: rows.length,
    right: rows.filter((row) => row.right).length,
    amongThree: rows.filter((row) => row.amongThree).length,
    manyPitches: many.length,
    manyRight: many.filter((row) => row.right).length,
    manyAmongThree: many.filter((row) => row.amongThree).length,
    a4Within2Cents: rows.filter((row) => row.a4).length,
    temperamentRight: rows.filter((row) => row.temperament).length,
    tabF1: f1(addTallies(takes.map((take, i) => measureTake(take, results[i].notes).tab))),
  };
  const wrong = takes.flatMap((take, i) => {
    if (rows[i].right) return [];
    const found = results[i].harp;
    const said = found
      ? `${found.key} ${found.tuning} (${found.confidence.toFixed(2)})`
      : (results[i].failure ?? 'none');
    return [`  ${take.path.split('/').at(-1)}: ${take.harp.key} ${take.harp.tuning}, said ${said}`];
  });
  const text = [
    `key and tuning right in ${counts.right} of ${counts.takes} takes, among the first three in ${counts.amongThree}; ` +
      `said to be ${meanOver(0, results.length, (i) => results[i].harp?.confidence ?? 0).toFixed(3)} sure`,
    `of takes with more than ${FEW_PITCHES} pitches: ${counts.manyRight} of ${counts.manyPitches}, among three ${counts.manyAmongThree}`,
    `A4 within ${A4_CENTS} cents in ${counts.a4Within2Cents}, temperament right in ${counts.temperamentRight}; tab F1 ${counts.tabF1.toFixed(3)}`,
    ...wrong,
  ].join('\n');
  return { counts, text };
}

/** Two names may mean one set of reeds: then either is right. */
function sameHarp(said: { readonly key: string; readonly tuning: string }, take: LabelledTake): boolean {
  const reeds = (key: string, tuning: string): string | null => {
    const layout = LAYOUTS.find((candidate) => candidate.id === tuning);
    if (!layout) return null;
    const { tonicMidi } = parseHarpKey(key);
    return [...layout.blow, ...layout.draw].map((offset) => tonicMidi + offset).join(' ');
  };
  const wanted = reeds(take.harp.key, take.harp.tuning);
  return wanted !== null && reeds(said.key, said.tuning) === wanted;
}

function temperamentId(name: string): string {
  try {
    return temperamentById(name).id;
  } catch {
    return name;
  }
}
