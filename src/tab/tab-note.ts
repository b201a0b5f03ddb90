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
  /** How far each of `holes` is bent, in semitones, in the same order, if any is; that of `hole` is `bend`. */
  readonly holeBends?: readonly number[] | undefined;
  /** True for two holes in quick alternation rather than at once. */
  readonly shake?: boolean | undefined;
}

/** Only what tab says of a note. */
export function tabOf({ hole, breath, bend, over, holes, holeBends, shake }: TabNote): TabNote {
  // All are named, so that none of the old note remains when it becomes another.
  return { hole, breath, bend, over, holes, holeBends, shake };
}

/** How far one of its holes is bent, in semitones. */
export function bendOn({ hole, bend, holes, holeBends }: TabNote, which: number): number {
  return holeBends?.[holes?.indexOf(which) ?? -1] ?? (which === hole ? bend : 0);
}

/** The same note on these holes, ascending; `bend` gives how far each is bent. */
export function onHoles(note: TabNote, holes: readonly number[], bend: (hole: number) => number): TabNote {
  const hole = holes.includes(note.hole) ? note.hole : holes[0];
  const bends = holes.map(bend);
  return {
    ...tabOf(note),
    hole,
    bend: bend(hole),
    holes: holes.length > 1 ? holes : undefined,
    holeBends: holes.length > 1 && bends.some((by) => by > 0) ? bends : undefined,
  };
}

/** True when two notes are written the same: the same tab, the same holes, both shakes or neither. */
export function sameWritten(a: TabNote, b: TabNote): boolean {
  return (
    sameTab(a, b) &&
    (a.holes ?? []).join() === (b.holes ?? []).join() &&
    (a.holeBends ?? []).join() === (b.holeBends ?? []).join() &&
    (a.shake === true) === (b.shake === true)
  );
}

/** True when two have the same melody note (hole, breath and technique), whatever else sounds. */
export function sameTab(a: TabNote, b: TabNote): boolean {
  return a.hole === b.hole && a.breath === b.breath && a.bend === b.bend && a.over === b.over;
}
