import type { HarpSpec } from '../../harp/types.ts';
import type { TakePatch } from '../../take/edits/patch.ts';
import type { Take } from '../../take/schema.ts';

/** What the take would become on a harp that is being chosen, read in advance. */
export interface Ahead {
  readonly of: Take;
  readonly harp: HarpSpec;
  /** Null when nothing would change. */
  readonly patch: TakePatch | null;
}

export function sameHarp(a: HarpSpec, b: HarpSpec): boolean {
  return a.key === b.key && a.tuning === b.tuning && a.temperament === b.temperament && a.a4Hz === b.a4Hz;
}
