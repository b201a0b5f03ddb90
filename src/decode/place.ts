import type { AlignCosts } from './alignment.ts';

/** Where a sequence lies within a longer reference. */
export interface Place {
  /** The elements of the reference that it covers, in whatever order: [from, to). */
  readonly from: number;
  readonly to: number;
  readonly cost: number;
}

/** Of stretches that cost at most `nearlyCost` more than the cheapest, prefers the one that ends closest to element `near`. */
export interface Preferred {
  readonly near: number;
  readonly nearlyCost: number;
}

/** For each element of the reference, the best alignment that ends there, for the sequence up to some element. */
interface Row {
  readonly cost: Float64Array;
  /** First and last element that the cheapest alignment covers. */
  readonly lowest: Int32Array;
  readonly highest: Int32Array;
}

/**
 * The stretch of a reference with which a sequence aligns most cheaply, beginning and ending anywhere (Sellers, J. Algorithms
 * 1, 359-373, 1980); the sequence may go back. Time countA × countB, memory countB.
 * @param preferred  which of several nearly equal stretches to take; null for the first of the cheapest
 */
export function cheapestPlace(
  countA: number,
  countB: number,
  costs: AlignCosts,
  preferred: Preferred | null = null,
): Place {
  const { cost, lowest, highest } = lastRow(countA, countB, costs, () => 0);
  const end = nearestEnd(cost, preferred);
  return { from: lowest[end], to: highest[end], cost: cost[end] };
}

/**
 * The cost of aligning a sequence with a reference from element `from` on, for each element that it may end before. As the
 * sequence may go anywhere in between, this is a lower bound for aligning it with that stretch. Time and memory as above.
 */
export function costsFrom(from: number, countA: number, countB: number, costs: AlignCosts): Float64Array {
  return lastRow(countA, countB, costs, (b) => (b === from ? 0 : Number.POSITIVE_INFINITY)).cost;
}

function lastRow(countA: number, countB: number, costs: AlignCosts, begin: (b: number) => number): Row {
  const missed = Float64Array.from({ length: countB }, (_, b) => costs.missed(b));
  const backTo = costs.back ? Float64Array.from({ length: countB }, (_, b) => costs.back!(b)) : null;
  let before = rowOf(countB);
  let row = rowOf(countB);
  for (let b = 0; b <= countB; b++) {
    before.cost[b] = begin(b);
    before.lowest[b] = before.highest[b] = b;
    if (b > 0) skip(before, b, missed);
  }
  for (let a = 0; a < countA; a++) {
    const added = costs.added(a);
    for (let b = 0; b <= countB; b++) {
      copy(before, b, row, b, before.cost[b] + added);
      if (b === 0) continue;
      if (before.cost[b - 1] < Number.POSITIVE_INFINITY) {
        const paired = before.cost[b - 1] + costs.pair(a, b - 1);
        if (paired < row.cost[b]) copy(before, b - 1, row, b, paired);
      }
      skip(row, b, missed);
      row.highest[b] = Math.max(row.highest[b], b);
    }
    if (backTo !== null) goBack(row, backTo);
    [before, row] = [row, before];
  }
  return before;
}

/** Skips an element of the reference. */
function skip(row: Row, b: number, missed: Float64Array): void {
  const cost = row.cost[b - 1] + missed[b - 1];
  if (cost < row.cost[b]) copy(row, b - 1, row, b, cost);
}

const rowOf = (countB: number): Row => ({
  cost: new Float64Array(countB + 1),
  lowest: new Int32Array(countB + 1),
  highest: new Int32Array(countB + 1),
});

function copy(source: Row, from: number, target: Row, to: number, cost: number): void {
  target.cost[to] = cost;
  target.lowest[to] = source.lowest[from];
  target.highest[to] = source.highest[from];
}

/** Goes back from the cheapest later element to each earlier one. */
function goBack(row: Row, backTo: Float64Array): void {
  let best = backTo.length;
  for (let b = best - 1; b >= 0; b--) {
    const here = row.cost[b];
    const cost = row.cost[best] + backTo[b];
    if (here < row.cost[best]) {
      best = b;
    } else if (cost < here) {
      copy(row, best, row, b, cost);
      row.lowest[b] = Math.min(row.lowest[b], b);
    }
  }
}

function nearestEnd(cost: Float64Array, preferred: Preferred | null): number {
  let least = 0;
  for (let b = 1; b < cost.length; b++) if (cost[b] < cost[least]) least = b;
  if (preferred === null) return least;
  const { near, nearlyCost } = preferred;
  let end = least;
  for (let b = 0; b < cost.length; b++) {
    if (cost[b] <= cost[least] + nearlyCost && Math.abs(b - near) < Math.abs(end - near)) end = b;
  }
  return end;
}
