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
