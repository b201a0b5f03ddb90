/** Numbers drawn one after another, the same for the same seed. */
export class Chance {
  #state: number;

  constructor(seed: number) {
    this.#state = seed >>> 0;
  }

  /** In [0, 1) (mulberry32, Tommy Ettinger, public domain). */
  next(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    let t = this.#state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  }

  /** A whole number in [0, count). */
  below(count: number): number {
    return Math.floor(this.next() * count);
  }

  pick<T>(items: readonly T[]): T {
    return items[this.below(items.length)];
  }

  happens(probability: number): boolean {
    return this.next() < probability;
  }
}
