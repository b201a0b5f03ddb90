/** One step of an alignment of a sequence A with a reference B. */
export type AlignStep =
  /** Element `a` stands for element `b`. */
  | { readonly kind: 'pair'; readonly a: number; readonly b: number }
  /** Element `a` has no counterpart. */
  | { readonly kind: 'added'; readonly a: number }
  /** Element `b` has no counterpart. */
  | { readonly kind: 'missed'; readonly b: number }
  /** A goes back: after `fromB` elements of B, it continues with B from `toB`. */
  | { readonly kind: 'back'; readonly fromB: number; readonly toB: number };

/** What an alignment costs; all values ≥ 0, Infinity for what is impossible. */
export interface AlignCosts {
  pair(a: number, b: number): number;
  added(a: number): number;
  missed(b: number): number;
  /** Cost of going back to element `b` from any later place; omit it if A never goes back. */
  back?(b: number): number;
}

export interface Alignment {
  /** In order of A; each element of A once, each element of B at least once. */
  readonly steps: readonly AlignStep[];
  readonly cost: number;
}

const NONE = 0;
const PAIR = 1;
const ADDED = 2;
const MISSED = 3;
const BACK = 4;

/** Up to this many cells all alignments are considered: 2800 notes of a take with 2800 of a tune, in 100 MB. */
const MOST_CELLS = 8_000_000;
/**
 * Longer sequences are aligned in chunks of `rows` elements of A. The first `kept` of them are final, and the rest is aligned
 * again with what follows. In B a chunk extends from `back` elements before the current place to `ahead` elements beyond
 * those of A; it can't go back or skip further than that.
 */
const CHUNK = { rows: 1024, kept: 512, back: 512, ahead: 1024 } as const;

/**
 * The cheapest alignment of a sequence of `countA` elements with a reference of `countB`: dynamic time warping with gaps
 * (Sakoe and Chiba, IEEE Trans. ASSP 26(1), 43-49, 1978; gaps: Needleman and Wunsch, J. Mol. Biol. 48, 443-453, 1970),
 * in which A may also go back in B and continue from there. Time grows with countA × countB up to `mostCells`, and
 * with countA beyond that, where the alignment is the cheapest chunk by chunk (`CHUNK`).
 * @returns every element of A in turn; of equally cheap alignments, one that pairs
 */
export function align(countA: number, countB: number, costs: AlignCosts, mostCells = MOST_CELLS): Alignment {
  if ((countA + 1) * (countB + 1) <= mostCells) {
    return new Chunk(costs, { a: 0, b: 0 }, countA, 0, countB).find(true);
  }
  const steps: AlignStep[] = [];
  let at: Place = { a: 0, b: 0 };
  let cost = 0;
  for (;;) {
    const toA = Math.min(countA, at.a + CHUNK.rows);
    const isLast = toA === countA;
    const toB = Math.min(countB, at.b + (toA - at.a) + CHUNK.ahead);
    const part = new Chunk(costs, at, toA, Math.max(0, at.b - CHUNK.back), toB).find(
      isLast && toB === countB,
    );
    const kept = isLast ? part.steps : firstSteps(part.steps, at.a + CHUNK.kept);
    for (const step of kept) {
      steps.push(step);
      cost += costOf(step, costs);
      at = after(step, at);
    }
    if (isLast) break;
  }
  for (let { b } = at; b < countB; b++) {
    steps.push({ kind: 'missed', b });
    cost += costs.missed(b);
  }
  return { steps, cost };
}

/** How many elements of each sequence are done. */
interface Place {
  readonly a: number;
  readonly b: number;
}

/** The steps up to the one that consumes the last element of A before `toA`. */
function firstSteps(steps: readonly AlignStep[], toA: number): readonly AlignStep[] {
  const last = steps.findIndex(
    (step) => (step.kind === 'pair' || step.kind === 'added') && step.a === toA - 1,
  );
  return steps.slice(0, last + 1);
}

function costOf(step: AlignStep, costs: AlignCosts): number {
  switch (step.kind) {
    case 'pair':
      return costs.pair(step.a, step.b);
    case 'added':
      return costs.added(step.a);
    case 'missed':
      return costs.missed(step.b);
    case 'back':
      return costs.back?.(step.toB) ?? 0;
  }
}

function after(step: AlignStep, { a, b }: Place): Place {
  switch (step.kind) {
    case 'pair':
      return { a: a + 1, b: b + 1 };
    case 'added':
      return { a: a + 1, b };
    case 'missed':
      return { a, b: b + 1 };
    case 'back':
      return { a, b: step.toB };
  }
}

/** Aligns a stretch of A with a stretch of B, from a given place. */
class Chunk {
  readonly #costs: AlignCosts;
  readonly #start: Place;
  readonly #fromB: number;
  readonly #rows: number;
  readonly #width: number;
  readonly #cost: Float64Array;
  readonly #how: Uint8Array;
  readonly #from: Int32Array;

  constructor(costs: AlignCosts, start: Place, toA: number, fromB: number, toB: number) {
    this.#costs = costs;
    this.#start = start;
    this.#fromB = fromB;
    this.#rows = toA - start.a;
    this.#width = toB - fromB + 1;
    const cells = (this.#rows + 1) * this.#width;
    this.#cost = new Float64Array(cells).fill(Number.POSITIVE_INFINITY);
    this.#how = new Uint8Array(cells);
    this.#from = costs.back ? new Int32Array(cells) : new Int32Array(0);
  }

  /** @param all  true to go to the last element of B; otherwise it ends where that is cheapest */
  find(all: boolean): Alignment {
    const costs = this.#costs;
    const { a: startA } = this.#start;
    const width = this.#width;
    const cost = this.#cost;
    const how = this.#how;
    const fromB = this.#fromB;
    const { back } = costs;
    const missed = Float64Array.from({ length: width - 1 }, (_, b) => costs.missed(fromB + b));
    const backTo = back ? Float64Array.from({ length: width - 1 }, (_, b) => back(fromB + b)) : null;
    cost[this.#start.b - fromB] = 0;
    for (let row = 0; row <= this.#rows; row++) {
      const begins = row * width;
      const a = startA + row - 1;
      const added = row > 0 ? costs.added(a) : 0;
      for (let b = 0; b < width; b++) {
        const at = begins + b;
        if (row > 0) {
          const before = at - width;
          // Unreachable cells need no comparison.
          if (b > 0 && cost[before - 1] < Number.POSITIVE_INFINITY) {
            improve(cost, how, at, cost[before - 1] + costs.pair(a, fromB + b - 1), PAIR);
          }
          improve(cost, how, at, cost[before] + added, ADDED);
        }
        if (b > 0) improve(cost, how, at, cost[at - 1] + missed[b - 1], MISSED);
      }
      // Before the first and after the last element there is nothing to go back for.
      if (backTo && row > 0 && (row < this.#rows || !all)) {
        goBack(cost, how, this.#from, begins, width, backTo);
      }
    }
    const end = all ? width - 1 : this.#cheapestEnd();
    return { steps: this.#trace(end), cost: cost[this.#rows * width + end] };
  }

  #cheapestEnd(): number {
    const last = this.#cost.subarray(this.#rows * this.#width);
    let best = 0;
    for (let b = 1; b < last.length; b++) if (last[b] < last[best]) best = b;
    return best;
  }

  #trace(end: number): AlignStep[] {
    const { a: startA, b: startB } = this.#start;
    const fromB = this.#fromB;
    const steps: AlignStep[] = [];
    let row = this.#rows;
    let b = end;
    while (row > 0 || b !== startB - fromB) {
      const at = row * this.#width + b;
      switch (this.#how[at]) {
        case PAIR:
          steps.push({ kind: 'pair', a: startA + --row, b: fromB + --b });
          break;
        case ADDED:
          steps.push({ kind: 'added', a: startA + --row });
          break;
        case MISSED:
          steps.push({ kind: 'missed', b: fromB + --b });
          break;
        case BACK:
          steps.push({ kind: 'back', fromB: fromB + this.#from[at], toB: fromB + b });
          b = this.#from[at];
          break;
        case NONE:
          throw new RangeError('no way through the alignment has a finite cost');
      }
    }
    return steps.reverse();
  }
}

function improve(cost: Float64Array, how: Uint8Array, at: number, candidate: number, step: number): void {
  if (candidate < cost[at]) {
    cost[at] = candidate;
    how[at] = step;
  }
}

/** Goes back from the cheapest later place of the row to each earlier one. */
function goBack(
  cost: Float64Array,
  how: Uint8Array,
  from: Int32Array,
  row: number,
  width: number,
  backTo: Float64Array,
): void {
  let best = width - 1;
  let bestCost = cost[row + best];
  for (let b = width - 2; b >= 0; b--) {
    const here = cost[row + b];
    if (bestCost + backTo[b] < here) {
      cost[row + b] = bestCost + backTo[b];
      how[row + b] = BACK;
      from[row + b] = best;
    }
    if (here < bestCost) {
      best = b;
      bestCost = here;
    }
  }
}
