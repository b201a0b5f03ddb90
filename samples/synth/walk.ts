import type { PlayableNote } from '../../src/harp/types.ts';
import type { Rng } from './rng.ts';

/** How a made-up melody moves. */
export interface WalkOptions {
  readonly notes: number;
  /** Lengths in beats to choose from. */
  readonly beats: readonly number[];
  readonly bendShare: number;
  readonly overShare: number;
  readonly repeatShare: number;
  /** Lowest and highest hole. */
  readonly holes: readonly [number, number];
}

/** A made-up melody in tab, as a player might move: mostly to the next holes, now and then a leap, a repeat, a bend. */
export function walk(playable: readonly PlayableNote[], options: WalkOptions, rng: Rng): string {
  const within = playable.filter((n) => n.hole >= options.holes[0] && n.hole <= options.holes[1]);
  const naturals = within.filter((n) => n.bend === 0 && !n.over);
  let current = rng.pick(naturals);
  const signs: string[] = [];
  let sincePhrase = 0;
  for (let i = 0; i < options.notes; i++) {
    let joined = false;
    if (i > 0 && !rng.chance(options.repeatShare)) {
      const before = current;
      const pool = rng.chance(options.overShare)
        ? within.filter((n) => n.over)
        : rng.chance(options.bendShare)
          ? within.filter((n) => n.bend > 0)
          : naturals;
      const reach = rng.chance(0.12) ? 12 : rng.chance(0.4) ? 5 : 2;
      const near = pool.filter((n) => n !== before && Math.abs(n.midi - before.midi) <= reach);
      current = near.length > 0 ? rng.pick(near) : nearest(pool.length > 0 ? pool : naturals, before);
      joined =
        current.hole === before.hole &&
        current.breath === before.breath &&
        current.bend !== before.bend &&
        !current.over &&
        !before.over &&
        rng.chance(0.7);
    }
    const beats = rng.pick(options.beats);
    const ends = ++sincePhrase >= 6 && rng.chance(0.2);
    signs.push(`${joined ? '~' : ''}${sign(current)}:${ends ? Math.max(beats, 1.5) : beats}`);
    if (ends && i + 1 < options.notes) {
      signs.push('|');
      sincePhrase = 0;
    }
  }
  return signs.join(' ');
}

const sign = (n: PlayableNote): string =>
  `${n.breath === 'draw' ? '-' : ''}${n.hole}${n.over ? 'o' : ''}${"'".repeat(n.bend)}`;

function nearest(pool: readonly PlayableNote[], to: PlayableNote): PlayableNote {
  return pool.reduce((best, n) => (Math.abs(n.midi - to.midi) < Math.abs(best.midi - to.midi) ? n : best));
}
