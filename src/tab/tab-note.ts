import type { Breath } from '../harp/types.ts';

/** What tab says of a note: where and how, not when. */
export interface TabNote {
  /** 1 to 10. */
  readonly hole: number;
  readonly breath: Breath;
  /** Semitones below the unbent reed: 0, 1, 2, 3. */
  readonly bend: number;
  /** Overblow or overdraw. */
  readonly over: boolean;
}

/** Only what tab says of a note. */
export function tabOf({ hole, breath, bend, over }: TabNote): TabNote {
  return { hole, breath, bend, over };
}

/** True when two notes are the same hole, breath and technique. */
export function sameTab(a: TabNote, b: TabNote): boolean {
  return a.hole === b.hole && a.breath === b.breath && a.bend === b.bend && a.over === b.over;
}
