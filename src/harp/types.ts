import type { Layout } from './layouts.ts';

/** Which way the air goes. */
export type Breath = 'blow' | 'draw';

/** How far each reed is tuned from the equal step, in cents. */
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

/** A tuning or temperament of the player's own. */
export interface CustomHarp {
  readonly layout?: Layout | undefined;
  readonly temperament?: Temperament | undefined;
}

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

/** A harp that may have been played, with how likely it is among all. */
export interface HarpGuess {
  readonly key: string;
  readonly tuning: string;
  /** [0, 1]; all guesses sum to 1. */
  readonly confidence: number;
}

/** The harp of a take: named by the player, or found with its runners-up. */
export interface FoundHarp extends HarpSpec {
  /** How sure the key and the tuning are, [0, 1]; 1 when the player named the harp. */
  readonly confidence: number;
  readonly alternatives: readonly HarpGuess[];
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
