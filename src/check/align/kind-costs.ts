import type { TabNote } from '../../tab/tab-note.ts';

/** The largest table that is kept: 8 MB. */
const MOST_COSTS = 1_000_000;

/**
 * Costs of pairs of notes, computed once for every two kinds of notes: a tune of thousands of notes has a few dozen
 * kinds, but is compared with a take in millions of pairs.
 */
export class KindCosts {
  readonly #ofA: Int32Array;
  readonly #ofB: Int32Array;
  readonly #count: (a: number, b: number) => number;
  /** By kind of A, then of B; NaN where not computed yet. Null when there are too many kinds. */
  readonly #costs: Float64Array | null;
  readonly #kindsOfB: number;

  /**
   * @param kindsA for each note of the first, everything that its cost depends on
   * @param kindsB the same for the second
   * @param count  the cost of two notes, by their places
   */
  constructor(kindsA: readonly string[], kindsB: readonly string[], count: (a: number, b: number) => number) {
    const [ofA, countA] = numbered(kindsA);
    const [ofB, countB] = numbered(kindsB);
    this.#ofA = ofA;
    this.#ofB = ofB;
    this.#kindsOfB = countB;
    this.#count = count;
    this.#costs = countA * countB > MOST_COSTS ? null : new Float64Array(countA * countB).fill(Number.NaN);
  }

  of(a: number, b: number): number {
    const costs = this.#costs;
    if (costs === null) return this.#count(a, b);
    const at = this.#ofA[a] * this.#kindsOfB + this.#ofB[b];
    const known = costs[at];
    if (!Number.isNaN(known)) return known;
    const cost = this.#count(a, b);
    costs[at] = cost;
    return cost;
  }
}

/**
 * Everything about a note on which the cost of pairing it may depend. @param other what else distinguishes two notes
 */
export function kindOf(midis: readonly number[], tab: TabNote | null, other: boolean): string {
  const place = tab === null ? '' : `${tab.hole}${tab.breath}${tab.over}`;
  return `${midis.join()} ${place} ${other}`;
}

function numbered(kinds: readonly string[]): [numbers: Int32Array, count: number] {
  const numbers = new Map<string, number>();
  const each = Int32Array.from(kinds, (kind) => {
    const number = numbers.get(kind) ?? numbers.size;
    numbers.set(kind, number);
    return number;
  });
  return [each, numbers.size];
}
