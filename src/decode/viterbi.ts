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
}

/**
 * Best-scoring path through a lattice (Viterbi, IEEE Trans. Inf. Theory 13(2), 260-269, 1967), for any states.
 * @param count number of frames, T
 * @param lattice S states with their arcs; natural-log scores, -Infinity allowed
 * @param observe writes the log score of frame t for each state into `scores` (length S, not cleared between calls)
 * @returns a state in [0, S) for each frame; empty when T = 0. Of equal paths, the arc listed first wins.
 * @throws RangeError when no path has a finite score
 */
export function viterbi(
  count: number,
  lattice: Lattice,
  observe: (t: number, scores: Float64Array) => void,
): Int32Array {
  const states = lattice.arcs.length;
  const path = new Int32Array(count);
  if (count === 0) return path;
  const { offsets, sources, costs } = flatten(lattice.arcs);
  const observed = new Float64Array(states);
  let score = new Float64Array(states);
  let next = new Float64Array(states);
  const widest = lattice.arcs.reduce((most, into) => Math.max(most, into.length), 0);
  const backArc = widest <= 256 ? new Uint8Array(count * states) : new Uint16Array(count * states);
  observe(0, observed);
  for (let s = 0; s < states; s++) score[s] = lattice.start[s] + observed[s];
  for (let t = 1; t < count; t++) {
    observe(t, observed);
    for (let s = 0; s < states; s++) {
      let best = Number.NEGATIVE_INFINITY;
      let bestArc = offsets[s];
      for (let arc = offsets[s]; arc < offsets[s + 1]; arc++) {
        const candidate = score[sources[arc]] + costs[arc];
        if (candidate > best) {
          best = candidate;
          bestArc = arc;
        }
      }
      next[s] = best + observed[s];
      backArc[t * states + s] = bestArc - offsets[s];
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
    if (t > 0) last = sources[offsets[last] + backArc[t * states + last]];
  }
  return path;
}

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
