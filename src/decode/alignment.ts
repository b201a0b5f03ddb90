/** One step of an alignment of a sequence A with a reference B. */
export type AlignStep =
  /** Element `a` stands for element `b`. */
  | { readonly kind: 'pair'; readonly a: number; readonly b: number }
  /** Element `a` has no counterpart. */
  | { readonly kind: 'added'; readonly a: number }
  /** Element `b` has no counterpart. */
  | { readonly kind: 'missed'; readonly b: number }
  /** A goes back: what follows stands for B from `toB` on, after `fromB` elements of B had been gone through. */
  | { readonly kind: 'back'; readonly fromB: number; readonly toB: number };

/** What an alignment costs; all values ≥ 0, Infinity for what can't be. */
export interface AlignCosts {
  pair(a: number, b: number): number;
  added(a: number): number;
  missed(b: number): number;
  /** Going back to element `b` from any later place; leave out where A never goes back. */
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

/**
 * The cheapest way to lay a sequence of `countA` elements along a reference of `countB`: dynamic time warping with
 * gaps (Sakoe and Chiba, IEEE Trans. ASSP 26(1), 43-49, 1978; gaps: Needleman and Wunsch, J. Mol. Biol. 48, 443-453,
 * 1970), where A may also go back in B and take up again from there. Work and memory grow with countA × countB.
 * @returns every element of A in turn; of equal ways one that pairs
 */
export function align(countA: number, countB: number, costs: AlignCosts): Alignment {
  const width = countB + 1;
  const cost = new Float64Array((countA + 1) * width).fill(Number.POSITIVE_INFINITY);
  const how = new Uint8Array(cost.length);
  const from = costs.back ? new Int32Array(cost.length) : new Int32Array(0);
  const missed = Float64Array.from({ length: countB }, (_, b) => costs.missed(b));
  const back = costs.back;
  const backTo = back ? Float64Array.from({ length: countB }, (_, b) => back(b)) : null;
  cost[0] = 0;
  for (let a = 0; a <= countA; a++) {
    const row = a * width;
    const added = a > 0 ? costs.added(a - 1) : 0;
    for (let b = 0; b < width; b++) {
      const at = row + b;
      if (a > 0) {
        const before = at - width;
        if (b > 0) improve(cost, how, at, cost[before - 1] + costs.pair(a - 1, b - 1), PAIR);
        improve(cost, how, at, cost[before] + added, ADDED);
      }
      if (b > 0) improve(cost, how, at, cost[at - 1] + missed[b - 1], MISSED);
    }
    // Before the first and after the last element there is nothing to go back for.
    if (backTo && a > 0 && a < countA) goBack(cost, how, from, row, width, backTo);
  }
  return { steps: trace(countA, countB, how, from), cost: cost[cost.length - 1] };
}

function improve(cost: Float64Array, how: Uint8Array, at: number, candidate: number, step: number): void {
  if (candidate < cost[at]) {
    cost[at] = candidate;
    how[at] = step;
  }
}

/** From the cheapest later place of the row to each earlier one. */
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

function trace(countA: number, countB: number, how: Uint8Array, from: Int32Array): AlignStep[] {
  const width = countB + 1;
  const steps: AlignStep[] = [];
  let a = countA;
  let b = countB;
  while (a > 0 || b > 0) {
    const at = a * width + b;
    switch (how[at]) {
      case PAIR:
        steps.push({ kind: 'pair', a: --a, b: --b });
        break;
      case ADDED:
        steps.push({ kind: 'added', a: --a });
        break;
      case MISSED:
        steps.push({ kind: 'missed', b: --b });
        break;
      case BACK:
        steps.push({ kind: 'back', fromB: from[at], toB: b });
        b = from[at];
        break;
      case NONE:
        throw new RangeError('no way through the alignment has a finite cost');
    }
  }
  return steps.reverse();
}
