/** The best states of a chain, and the probability of each state at each place. */
export interface ChainResult {
  /** Best state at each place (Viterbi). */
  readonly path: Int32Array;
  /** Probability of state s at place t, over all paths (forward-backward), at `t * states + s`; rows sum to 1. */
  readonly posterior: Float64Array;
  /** Natural log of the summed score of all paths. */
  readonly logTotal: number;
}

/** Scores of a chain: natural logs, -Infinity allowed. */
export interface ChainScores {
  /** Score of state s at place t, at `t * states + s`. */
  readonly observed: Float64Array;
  /** Score of going from state i at place t - 1 to state j at place t ≥ 1. */
  move(t: number, i: number, j: number): number;
}

/** What is kept of a place, so that nothing is scored twice. */
interface Place {
  /** Reachable states, ascending: of many states, few match an observation. */
  readonly live: readonly number[];
  /** Score of going from live state a of the previous place to live state b, at `b * (number of live states there) + a`. */
  readonly moves: Float64Array;
}

/** Buffers for the scores of a chain, reusable for chains of the same length and number of states. */
export class ChainRoom {
  readonly best: Float64Array;
  readonly forward: Float64Array;
  readonly from: Int32Array;
  /** Scratch memory: what is summed, and the scores of all moves to one place. */
  readonly terms: Float64Array;
  readonly moves: Float64Array;

  constructor(count: number, states: number) {
    this.best = new Float64Array(count * states);
    this.forward = new Float64Array(count * states);
    this.from = new Int32Array(count * states);
    this.terms = new Float64Array(states);
    this.moves = new Float64Array(states * states);
  }

  clear(): void {
    this.best.fill(Number.NEGATIVE_INFINITY);
    this.forward.fill(Number.NEGATIVE_INFINITY);
    this.from.fill(0);
  }
}

/**
 * Best path and posteriors of a short chain whose transitions may differ from place to place (Viterbi 1967; Rabiner,
 * Proc. IEEE 77(2), 257-286, 1989, equations 19-27), for states of any kind. Time grows with count × states², where only
 * states with a score above -Infinity count.
 */
export function decodeChain(
  count: number,
  states: number,
  scores: ChainScores,
  room: ChainRoom = new ChainRoom(count, states),
): ChainResult {
  const path = new Int32Array(count);
  const posterior = new Float64Array(count * states);
  if (count === 0) return { path, posterior, logTotal: 0 };
  const { best, forward, from } = room;
  room.clear();
  const first = liveStates(scores.observed, 0, states);
  for (const s of first) best[s] = forward[s] = scores.observed[s];
  const places: Place[] = [{ live: first, moves: new Float64Array() }];
  for (let t = 1; t < count; t++) places.push(enter(t, states, places[t - 1].live, scores, room));
  backtrack(count, states, best, from, path);
  const logTotal = logSum(forward.subarray((count - 1) * states), states);
  smooth(states, places, scores.observed, room, posterior);
  return { path, posterior, logTotal };
}

/** Scores the states of place t, which are reached from the live ones of the place before. */
function enter(
  t: number,
  states: number,
  sources: readonly number[],
  scores: ChainScores,
  room: ChainRoom,
): Place {
  const { observed } = scores;
  const matching = liveStates(observed, t, states);
  const live: number[] = [];
  for (let b = 0; b < matching.length; b++) {
    const j = matching[b];
    const at = t * states + j;
    const top = comeFrom(sources, t, j, states, live.length * sources.length, scores, room);
    if (top === Number.NEGATIVE_INFINITY) continue;
    room.best[at] = top + observed[at];
    room.forward[at] = logSum(room.terms, sources.length) + observed[at];
    live.push(j);
  }
  return { live, moves: room.moves.slice(0, live.length * sources.length) };
}

/** Scores the moves to state j of place t, and puts them into the room from `row` on. @returns score of the best path there */
function comeFrom(
  sources: readonly number[],
  t: number,
  j: number,
  states: number,
  row: number,
  scores: ChainScores,
  { best, forward, from, terms, moves }: ChainRoom,
): number {
  const before = (t - 1) * states;
  let top = Number.NEGATIVE_INFINITY;
  for (let a = 0; a < sources.length; a++) {
    const i = sources[a];
    const score = scores.move(t, i, j);
    moves[row + a] = score;
    terms[a] = forward[before + i] + score;
    if (best[before + i] + score > top) {
      top = best[before + i] + score;
      from[t * states + j] = i;
    }
  }
  return top;
}

/** States that match what was observed at a place. */
function liveStates(observed: Float64Array, t: number, states: number): number[] {
  const live: number[] = [];
  for (let s = 0; s < states; s++) if (observed[t * states + s] > Number.NEGATIVE_INFINITY) live.push(s);
  return live;
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
  states: number,
  places: readonly Place[],
  observed: Float64Array,
  room: ChainRoom,
  posterior: Float64Array,
): void {
  // Indexed by the live states of the place, in the order of its list.
  let backward = new Float64Array(states);
  let next = new Float64Array(states);
  for (let t = places.length - 1; t >= 0; t--) {
    weighStates(t * states, places[t].live, backward, room, posterior);
    if (t === 0) return;
    goBack(t * states, places[t], places[t - 1].live.length, observed, backward, next, room.terms);
    [backward, next] = [next, backward];
  }
}

/** The probability of each live state of the place whose states begin at `row`. */
function weighStates(
  row: number,
  live: readonly number[],
  backward: Float64Array,
  { forward, terms }: ChainRoom,
  posterior: Float64Array,
): void {
  for (let b = 0; b < live.length; b++) terms[b] = forward[row + live[b]] + backward[b];
  const total = logSum(terms, live.length);
  for (let b = 0; b < live.length; b++) posterior[row + live[b]] = Math.exp(terms[b] - total);
}

/** The score of all that follows each of the `sources` live states of the place before. */
function goBack(
  row: number,
  { live, moves }: Place,
  sources: number,
  observed: Float64Array,
  backward: Float64Array,
  next: Float64Array,
  terms: Float64Array,
): void {
  for (let a = 0; a < sources; a++) {
    for (let b = 0; b < live.length; b++)
      terms[b] = moves[b * sources + a] + observed[row + live[b]] + backward[b];
    next[a] = logSum(terms, live.length);
  }
}

/** ln Σ exp(x) of the first `length` values, without overflow; -Infinity if there are none. */
function logSum(values: Float64Array, length: number): number {
  let most = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < length; i++) if (values[i] > most) most = values[i];
  if (most === Number.NEGATIVE_INFINITY) return most;
  let sum = 0;
  for (let i = 0; i < length; i++) sum += Math.exp(values[i] - most);
  return most + Math.log(sum);
}
