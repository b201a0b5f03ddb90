import { type Rng, seededRng } from '../../../samples/synth/rng.ts';
import type { Degradation } from '../../../samples/synth/scene/roughen.ts';
import {
  CLEAN,
  EVERYDAY,
  HOMEWORK,
  type PlayingStyle,
  STUDENT,
  varied,
} from '../../../samples/synth/style.ts';
import type { TakeSpec } from '../../../samples/synth/take.ts';
import { HARP_KEYS } from '../../../src/harp/keys.ts';
import { CONDITIONS, type Condition, degradationOf } from '../sets/conditions.ts';

/** One take with ornaments planted in some of its notes, and what happens to it on its way into the file. */
export interface OrnamentTake {
  readonly spec: TakeSpec;
  readonly source: 'synth' | 'soundfont';
  readonly condition: Condition;
  readonly degradation: Degradation;
}

/** Seeds: the first to develop on, the other to report. */
export const ORNAMENT_SEEDS = { develop: 1701, report: 90_210 } as const;

/** Signs of the ornaments of a note (see `parseTune`), as often as each is drawn. */
const MARKS = ['/', '\\', '~', '^', '*', '/~'] as const;
/** Holes that bend enough to slide, by breath. */
const SLIDING = { '-': [1, 2, 3, 4, 6], '': [8, 9, 10] } as const;

/**
 * Takes in each condition, `rounds` times; the last round of four is played by a sampled instrument.
 * @param broad  to fit to: also students, more leaks, players who move, other noise, and every second round sampled
 */
export function ornamentTakes(seed: number, rounds: number, broad = false): OrnamentTake[] {
  const root = seededRng(seed);
  return Array.from({ length: rounds }, (_, round) =>
    CONDITIONS.map((condition): OrnamentTake => {
      const rng = root.fork(`${condition} ${round}`);
      const key = rng.pick(HARP_KEYS);
      const source = (broad ? round % 2 === 1 : round % 4 === 3) ? 'soundfont' : 'synth';
      return {
        source,
        condition,
        degradation: { ...degradationOf(condition, rng), ...(broad ? further(condition, rng) : {}) },
        spec: {
          name: `${source}-${condition}-${round + 1}-${key}`,
          category: 'ornaments',
          harp: { key, tuning: 'richter', temperament: 'equal', a4Hz: 440 },
          tab: tabOf(rng),
          style: styleOf(
            rng,
            broad ? [CLEAN, EVERYDAY, STUDENT, HOMEWORK] : [CLEAN, EVERYDAY],
            broad ? 0.15 : 0.05,
          ),
          seed: Math.floor(rng.next() * 2 ** 31),
        },
      };
    }),
  ).flat();
}

/** Notes without an ornament are not dead straight: they waver by less than anybody would give a name to. */
function styleOf(rng: Rng, styles: readonly PlayingStyle[], leakShare: number): PlayingStyle {
  const style: PlayingStyle = {
    ...rng.pick(styles),
    scoopShare: 0,
    vibratoShare: 0.3,
    vibratoCents: [2, 6],
    tremoloShare: 0.3,
    tremoloDb: [0.5, 1.5],
    leakShare,
  };
  return { ...varied(style, rng), tempoBpm: rng.between([80, 112]) };
}

/** What else may happen on the way into the file. */
function further(condition: Condition, rng: Rng): Degradation {
  return {
    ...(condition !== 'clean' && rng.chance(0.3) ? { wanderDb: rng.between([0.5, 2]) } : {}),
    ...(condition !== 'clean' && rng.chance(0.3) ? { noise: 'lived-in' as const } : {}),
    ...(condition === 'phone' && rng.chance(0.3) ? { turnedUp: true } : {}),
    ...(rng.chance(0.15) ? { humDb: rng.between([-45, -30]) } : {}),
  };
}

function tabOf(rng: Rng): string {
  return Array.from({ length: 5 }, () =>
    Array.from({ length: 6 }, () => (rng.chance(0.45) ? ornamented(rng) : plain(rng))).join(' '),
  ).join(' | ');
}

const from = (rng: Rng, low: number, high: number): number => Math.floor(rng.between([low, high + 1]));

const plain = (rng: Rng): string =>
  `${rng.chance(0.5) ? '-' : ''}${from(rng, 1, 9)}:${rng.pick([0.5, 1, 1, 2, 3])}`;

function ornamented(rng: Rng): string {
  const mark = rng.pick(MARKS);
  const slides = mark.includes('/') || mark === '\\';
  const breath = rng.chance(slides ? 0.8 : 0.5) ? '-' : '';
  const hole = slides ? rng.pick<number>(SLIDING[breath]) : from(rng, 1, 9);
  const [before, after] = mark.startsWith('/') ? ['/', mark.slice(1)] : ['', mark];
  const note = `${before}${breath}${hole}${after}:${rng.pick(mark === '/' || mark === '\\' ? [1, 1.5, 2] : [2, 2, 3, 4])}`;
  // A note that falls off ends its line, or is followed by the other breath.
  return mark === '\\' ? `${note} r:0.5` : note;
}
