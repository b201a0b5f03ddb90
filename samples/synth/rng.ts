/** Random numbers from a seed, the same on every machine. */
export interface Rng {
  /** Uniform in [0, 1). */
  next(): number;
  /** Uniform in [low, high). */
  between(range: Range): number;
  /** True with probability `share`. */
  chance(share: number): boolean;
  /** Normal with mean 0 and standard deviation 1. */
  normal(): number;
  /** One of the items. */
  pick<T>(items: readonly T[]): T;
  /** A separate generator for a named part, so that parts don't affect each other. */
  fork(name: string): Rng;
}

export type Range = readonly [low: number, high: number];

/** mulberry32 (public domain generator with 32 bits of state). */
export function seededRng(seed: number): Rng {
  let state = seed >>> 0;
  const next = (): number => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  return {
    next,
    between: ([low, high]) => low + (high - low) * next(),
    chance: (share) => next() < share,
    normal: () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
    pick: (items) => items[Math.floor(next() * items.length)],
    fork: (name) => seededRng(hash(name, seed)),
  };
}

/** FNV-1a over the name, mixed with the seed. */
function hash(name: string, seed: number): number {
  let value = (0x811c9dc5 ^ seed) >>> 0;
  for (let i = 0; i < name.length; i++) value = Math.imul(value ^ name.charCodeAt(i), 0x01000193) >>> 0;
  return value;
}
