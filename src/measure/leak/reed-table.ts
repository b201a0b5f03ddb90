import type { PlayableNote } from '../../harp/types.ts';
import { median } from '../../statistics.ts';
import { powerToDb } from '../../units.ts';

/** The spectrum of a note of the take. */
export interface MeasuredNote {
  readonly note: PlayableNote;
  /** Powers of its first partials. */
  readonly partials: readonly number[];
  /** Total power of all of them. */
  readonly power: number;
}

/** How a reed sounds where it is the note. */
export interface ReedSound {
  /** Power of each partial relative to all of them, in dB, lowest first. */
  readonly partialsDb: readonly number[];
  /** Level of its notes relative to the take's usual note, in dB. */
  readonly levelDb: number;
}

/** Floor that keeps the logarithm of a missing partial finite. */
const LEAST_POWER = 1e-14;

/**
 * How the reeds of a take sound where they are the note. As a second reed, the same reed must have the same partials, coloured
 * by the same room; a sound with other partials is not a reed, and what a note hides of a reed can be filled in.
 */
export class ReedTable {
  readonly #sounds = new Map<string, ReedSound>();

  /** Collects the plain notes of a take; bends and overbends sound different. */
  constructor(measured: readonly MeasuredNote[]) {
    const plain = measured.filter(({ note, power }) => note.bend === 0 && !note.over && power > 0);
    if (plain.length === 0) return;
    const usualDb = median(plain.map(({ power }) => powerToDb(power)));
    for (const key of new Set(plain.map(({ note }) => keyOf(note)))) {
      const notes = plain.filter(({ note }) => keyOf(note) === key);
      const count = Math.min(...notes.map(({ partials }) => partials.length));
      const mean = (of: (note: MeasuredNote) => number): number =>
        notes.reduce((sum, note) => sum + of(note), 0) / notes.length;
      this.#sounds.set(key, {
        partialsDb: Array.from({ length: count }, (_, k) =>
          mean(({ partials, power }) => powerToDb((partials[k] + LEAST_POWER) / power)),
        ),
        levelDb: mean(({ power }) => powerToDb(power)) - usualDb,
      });
    }
  }

  /** The sound of a reed, or of the plain note of a bend's hole; null if the take has no such note. */
  soundOf(note: PlayableNote): ReedSound | null {
    return this.#sounds.get(keyOf(note)) ?? null;
  }
}

const keyOf = ({ hole, breath }: PlayableNote): string => `${breath} ${hole}`;
