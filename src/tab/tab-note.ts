import type { Breath } from '../harp/types.ts';

/** What tab says about a note: where and how, not when. */
export interface TabNote {
  /** 1 to 10. */
  readonly hole: number;
  readonly breath: Breath;
  /** Semitones below the unbent reed: 0, 1, 2, 3. */
  readonly bend: number;
  /** Overblow or overdraw. */
  readonly over: boolean;
  /** All holes that sound, ascending, where there is more than one; `hole` is one of them. */
  readonly holes?: readonly number[] | undefined;
  /** True for two holes in quick alternation rather than at once. */
  readonly shake?: boolean | undefined;
}

/** Only what tab says of a note. */
export function tabOf({ hole, breath, bend, over, holes, shake }: TabNote): TabNote {
  // All are named, so that none of the old note remains when it becomes another.
  return { hole, breath, bend, over, holes, shake };
}

/** True when two notes are written the same: the same tab, the same holes, both shakes or neither. */
export function sameWritten(a: TabNote, b: TabNote): boolean {
  return (
    sameTab(a, b) &&
    (a.holes ?? []).join() === (b.holes ?? []).join() &&
    (a.shake === true) === (b.shake === true)
  );
}

/** True when two have the same melody note (hole, breath and technique), whatever else sounds. */
export function sameTab(a: TabNote, b: TabNote): boolean {
  return a.hole === b.hole && a.breath === b.breath && a.bend === b.bend && a.over === b.over;
}
