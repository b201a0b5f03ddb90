/** One way into a state: where from, and what it costs as a log score (≤ 0). */
export interface Arc {
  readonly from: number;
  readonly score: number;
}

/** A chain of hidden states; how states look is given frame by frame to `viterbi`. */
export interface Lattice {
  /** For each state, the arcs that lead into it; a state that may stay has an arc from itself. */
  readonly arcs: readonly (readonly Arc[])[];
  /** Log score of starting in each state. */
  readonly start: Float64Array;
  /**
   * Arcs from each of many states to each of many, scored by where they lead only: the same path as if all were
   * listed, in S steps instead of S².
   */
  readonly hub?: {
    readonly from: readonly number[];
    readonly to: readonly { readonly state: number; readonly score: number }[];
  };
}

/**
 * Best-scoring path through a lattice (Viterbi, IEEE Trans. Inf. Theory 13(2), 260-269, 1967), for any states.
 * @param count number of frames, T
 * @param lattice S states with their arcs; natural-log scores, -Infinity allowed
 * @param observe writes the log score of frame t for each state into `scores` (length S, not cleared between calls)
 * @param enter writes what it costs, beside the lattice's own score, to come through the hub at frame t
 * @returns a state in [0, S) for each frame; empty when T = 0. Of equal paths, the arc listed first wins.
 * @throws RangeError when no path has a finite score
 */
export function viterbi(
  count: number,
  lattice: Lattice,
  observe: (t: number, scores: Float64Array) => void,
  enter?: (t: number, scores: Float64Array) => void,
): Int32Array {
  const states = lattice.arcs.length;
  const path = new Int32Array(count);
  if (count === 0) return path;
  const { offsets, sources, costs } = flatten(lattice.arcs);
  const hubFrom = Int32Array.from(lattice.hub?.from ?? []);
  const hubCost = new Float64Array(states).fill(Number.NEGATIVE_INFINITY);
  for (const { state, score } of lattice.hub?.to ?? []) hubCost[state] = score;
  const hubSource = new Int32Array(count);
  const observed = new Float64Array(states);
  const entered = new Float64Array(states);
  let score = new Float64Array(states);
  let next = new Float64Array(states);
  const widest = lattice.arcs.reduce((most, into) => Math.max(most, into.length), 0);
  const back = new BackPointers(count, states, widest + 1);
  observe(0, observed);
  for (let s = 0; s < states; s++) score[s] = lattice.start[s] + observed[s];
  for (let t = 1; t < count; t++) {
    observe(t, observed);
    enter?.(t, entered);
    let hubScore = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < hubFrom.length; i++) {
      if (score[hubFrom[i]] > hubScore) {
        hubScore = score[hubFrom[i]];
        hubSource[t] = hubFrom[i];
      }
    }
    for (let s = 0; s < states; s++) {
      let best = Number.NEGATIVE_INFINITY;
      let bestArc = 0;
      for (let arc = offsets[s]; arc < offsets[s + 1]; arc++) {
        const candidate = score[sources[arc]] + costs[arc];
        if (candidate > best) {
          best = candidate;
          bestArc = arc - offsets[s] + 1;
        }
      }
      if (hubScore + hubCost[s] + entered[s] > best) {
        best = hubScore + hubCost[s] + entered[s];
        bestArc = VIA_HUB;
      }
      next[s] = best + observed[s];
      back.set(t, s, bestArc);
    }
    [score, next] = [next, score];
  }
  let last = 0;
  for (let s = 1; s < states; s++) if (score[s] > score[last]) last = s;
  if (score[last] === Number.NEGATIVE_INFINITY || Number.isNaN(score[last])) {
    throw new RangeError('no path through the lattice has a finite score');
  }
  for (let t = count - 1; t >= 0; t--) {
    path[t] = last;
    if (t === 0) break;
    const arc = back.get(t, last);
    last = arc === VIA_HUB ? hubSource[t] : sources[offsets[last] + arc - 1];
  }
  return path;
}

/** Which arc the best path took into each state of each frame: in two bits where there are no more than four. */
class BackPointers {
  readonly #states: number;
  readonly #packed: Uint8Array | null;
  readonly #wide: Uint16Array;

  constructor(count: number, states: number, arcs: number) {
    this.#states = states;
    this.#packed = arcs <= 4 ? new Uint8Array(Math.ceil((count * states) / 4)) : null;
    this.#wide = new Uint16Array(arcs <= 4 ? 0 : count * states);
  }

  set(t: number, state: number, arc: number): void {
    const at = t * this.#states + state;
    if (this.#packed === null) this.#wide[at] = arc;
    else this.#packed[at >> 2] |= arc << (2 * (at & 3));
  }

  get(t: number, state: number): number {
    const at = t * this.#states + state;
    return this.#packed === null ? this.#wide[at] : (this.#packed[at >> 2] >> (2 * (at & 3))) & 3;
  }
}

/** Marks a step that came through the hub; listed arcs count from 1. */
const VIA_HUB = 0;

function flatten(arcs: readonly (readonly Arc[])[]): {
  offsets: Int32Array;
  sources: Int32Array;
  costs: Float64Array;
} {
  const total = arcs.reduce((sum, into) => sum + into.length, 0);
  const offsets = new Int32Array(arcs.length + 1);
  const sources = new Int32Array(total);
  const costs = new Float64Array(total);
  let at = 0;
  arcs.forEach((into, state) => {
    offsets[state] = at;
    for (const { from, score } of into) {
      sources[at] = from;
      costs[at] = score;
      at++;
    }
  });
  offsets[arcs.length] = at;
  return { offsets, sources, costs };
}
