import type { Layout } from './layouts.ts';

/** Which way the air goes. */
export type Breath = 'blow' | 'draw';

/** How far each reed is tuned from equal temperament, in cents. */
export type Temperament =
  | {
      readonly kind: 'intervals';
      readonly id: string;
      readonly name: string;
      /** Twelve deviations in cents, by semitones above the hole-1 blow note (0 to 11). */
      readonly cents: readonly number[];
    }
  | {
      readonly kind: 'reeds';
      readonly id: string;
      readonly name: string;
      /** Ten deviations in cents, hole 1 first. */
      readonly blow: readonly number[];
      readonly draw: readonly number[];
    };

/** A custom tuning or temperament. */
export interface CustomHarp {
  readonly layout?: Layout | undefined;
  readonly temperament?: Temperament | undefined;
}

/** A harp as the player specifies it. */
export interface HarpSpec {
  /**
   * Name of the hole-1 blow note, `C`, `Bb`, `F#`, `low F`, `high G`; `printedLabel` in `keys.ts` gives what is printed
   * on the harp.
   */
  readonly key: string;
  /** Id of the tuning, `richter`, `raised-third`, … (harp/layouts). */
  readonly tuning: string;
  /** Id of the temperament, `equal`, `just-7-limit`, … (harp/temperaments). */
  readonly temperament: string;
  /** Reference pitch in Hz, 400 to 480. */
  readonly a4Hz: number;
  /** What those ids stand for when they are custom; parts with other ids are ignored. */
  readonly custom?: CustomHarp | undefined;
}

/** A harp that may have been played, and how likely it is. */
export interface HarpGuess {
  readonly key: string;
  readonly tuning: string;
  /** [0, 1]; all guesses sum to 1. */
  readonly confidence: number;
}

/** The harp of a take: named by the player, or detected, with runners-up. */
export interface FoundHarp extends HarpSpec {
  /** How sure the key and the tuning are, [0, 1]; 1 when the player named the harp. */
  readonly confidence: number;
  readonly alternatives: readonly HarpGuess[];
}

/** One note that a harp can play. */
export interface PlayableNote {
  /** 1 to 10. */
  readonly hole: number;
  readonly breath: Breath;
  /** Semitones from the unbent reed down to the target: 0, 1, 2, 3. */
  readonly bend: number;
  /** Overblow or overdraw. */
  readonly over: boolean;
  /** Integer MIDI number of the nominal pitch. */
  readonly midi: number;
  /** Target pitch on this harp, temperament and A4 included. */
  readonly f0Hz: number;
}
