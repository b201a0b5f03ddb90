import type { CustomHarp } from './playable.ts';

/** Which way the air goes. */
export type Breath = 'blow' | 'draw';

/** A harp as its player names it. */
export interface HarpSpec {
  /** Name of the hole-1 blow note, `C`, `Bb`, `F#`, `low F`, `high G`; what is printed on it: `printedLabel` (keys). */
  readonly key: string;
  /** Id of the tuning, `richter`, `raised-third`, … (harp/layouts). */
  readonly tuning: string;
  /** Id of the temperament, `equal`, `just-7-limit`, … (harp/temperaments). */
  readonly temperament: string;
  /** Reference pitch in Hz, 400 to 480. */
  readonly a4Hz: number;
  /** What those ids stand for when they are a tuning or temperament of the player's own; parts of other ids don't count. */
  readonly custom?: CustomHarp | undefined;
}

/** One note that a harp can give. */
export interface PlayableNote {
  /** 1 to 10. */
  readonly hole: number;
  readonly breath: Breath;
  /** Semitones below the unbent reed that are the target: 0, 1, 2, 3. */
  readonly bend: number;
  /** Overblow or overdraw. */
  readonly over: boolean;
  /** Integer MIDI number of the nominal pitch. */
  readonly midi: number;
  /** Target pitch on this harp, temperament and A4 included. */
  readonly f0Hz: number;
}
