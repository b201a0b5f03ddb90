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
  /** All holes that sound, ascending, where it is more than one; `hole` is one of them. */
  readonly holes?: readonly number[] | undefined;
  /** The two holes in quick turn rather than at once. */
  readonly shake?: boolean | undefined;
}

/** Only what tab says of a note. */
export function tabOf({ hole, breath, bend, over, holes, shake }: TabNote): TabNote {
  // All are named, so that what a note was is gone when it becomes another.
  return { hole, breath, bend, over, holes, shake };
}

/** True when two are written alike: the same tab, all holes that sound, and whether in turn. */
export function sameWritten(a: TabNote, b: TabNote): boolean {
  return (
    sameTab(a, b) &&
    (a.holes ?? []).join() === (b.holes ?? []).join() &&
    (a.shake === true) === (b.shake === true)
  );
}

/** True when the melody notes of two are the same hole, breath and technique, whatever sounds beside them. */
export function sameTab(a: TabNote, b: TabNote): boolean {
  return a.hole === b.hole && a.breath === b.breath && a.bend === b.bend && a.over === b.over;
}
