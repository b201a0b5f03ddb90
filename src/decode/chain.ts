/** The best states of a chain and how likely each state is at each place. */
export interface ChainResult {
  /** Best-scoring state of each place (Viterbi). */
  readonly path: Int32Array;
  /** Probability of state s at place t at `t * states + s`, all paths weighed (forward-backward); rows sum to 1. */
  readonly posterior: Float64Array;
  /** Natural log of the summed score of all paths. */
  readonly logTotal: number;
}

/** Scores of a chain, natural logs, -Infinity allowed. */
export interface ChainScores {
  /** Score of state s at place t. */
  observe(t: number, s: number): number;
  /** Score of going from state i at place t - 1 to state j at place t ≥ 1. */
  move(t: number, i: number, j: number): number;
}

/**
 * Best path and posteriors over a short chain whose moves may differ from place to place (Viterbi 1967; Rabiner,
 * Proc. IEEE 77(2), 257-286, 1989, equations 19-27), for any states. Work grows with count × states².
 */
export function decodeChain(count: number, states: number, scores: ChainScores): ChainResult {
  const path = new Int32Array(count);
  const posterior = new Float64Array(count * states);
  if (count === 0) return { path, posterior, logTotal: 0 };
  const best = new Float64Array(count * states);
  const forward = new Float64Array(count * states);
  const from = new Int32Array(count * states);
  const moves = new Float64Array(states);
  for (let s = 0; s < states; s++) best[s] = forward[s] = scores.observe(0, s);
  for (let t = 1; t < count; t++) {
    const before = (t - 1) * states;
    for (let j = 0; j < states; j++) {
      const observed = scores.observe(t, j);
      let top = Number.NEGATIVE_INFINITY;
      if (observed === Number.NEGATIVE_INFINITY) {
        best[t * states + j] = forward[t * states + j] = top;
        continue;
      }
      for (let i = 0; i < states; i++) {
        const move = best[before + i] === Number.NEGATIVE_INFINITY ? best[before + i] : scores.move(t, i, j);
        moves[i] = move === Number.NEGATIVE_INFINITY ? move : forward[before + i] + move;
        if (best[before + i] + move > top) {
          top = best[before + i] + move;
          from[t * states + j] = i;
        }
      }
      best[t * states + j] = top + observed;
      forward[t * states + j] = logSum(moves) + observed;
    }
  }
  backtrack(count, states, best, from, path);
  const logTotal = logSum(forward.subarray((count - 1) * states));
  smooth(count, states, scores, forward, posterior);
  return { path, posterior, logTotal };
}

function backtrack(
  count: number,
  states: number,
  best: Float64Array,
  from: Int32Array,
  path: Int32Array,
): void {
  let last = 0;
  const end = (count - 1) * states;
  for (let s = 1; s < states; s++) if (best[end + s] > best[end + last]) last = s;
  for (let t = count - 1; t >= 0; t--) {
    path[t] = last;
    last = from[t * states + last];
  }
}

function smooth(
  count: number,
  states: number,
  scores: ChainScores,
  forward: Float64Array,
  posterior: Float64Array,
): void {
  let backward = new Float64Array(states);
  let next = new Float64Array(states);
  const terms = new Float64Array(states);
  for (let t = count - 1; t >= 0; t--) {
    const row = t * states;
    for (let s = 0; s < states; s++) terms[s] = forward[row + s] + backward[s];
    const total = logSum(terms);
    for (let s = 0; s < states; s++) posterior[row + s] = Math.exp(terms[s] - total);
    if (t === 0) return;
    for (let i = 0; i < states; i++) {
      if (forward[row - states + i] === Number.NEGATIVE_INFINITY) {
        next[i] = Number.NEGATIVE_INFINITY;
        continue;
      }
      for (let j = 0; j < states; j++) {
        const observed =
          forward[row + j] === Number.NEGATIVE_INFINITY ? forward[row + j] : scores.observe(t, j);
        terms[j] =
          observed === Number.NEGATIVE_INFINITY ? observed : scores.move(t, i, j) + observed + backward[j];
      }
      next[i] = logSum(terms);
    }
    [backward, next] = [next, backward];
  }
}

/** ln Σ exp(x), without overflow; -Infinity of nothing. */
function logSum(values: Float64Array): number {
  let most = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < values.length; i++) if (values[i] > most) most = values[i];
  if (most === Number.NEGATIVE_INFINITY) return most;
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += Math.exp(values[i] - most);
  return most + Math.log(sum);
}
