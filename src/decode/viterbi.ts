import { Kernel } from '../kernel.ts';

/** A transition into a state: where from, and its log score (≤ 0). */
export interface Arc {
  readonly from: number;
  readonly score: number;
}

/** A chain of hidden states; `viterbi` is given the evidence for them frame by frame. */
export interface Lattice {
  /** For each state, the arcs that lead into it; a state that may persist has an arc from itself. */
  readonly arcs: readonly (readonly Arc[])[];
  /** Log score of starting in each state. */
  readonly start: Float64Array;
  /**
   * Arcs from each of many states to each of many, whose scores depend only on where they lead: the same path as if all were
   * listed, in S steps instead of S².
   */
  readonly hub?: {
    readonly from: readonly number[];
    readonly to: readonly { readonly state: number; readonly score: number }[];
  };
}

/**
 * Best-scoring path through a lattice (Viterbi, IEEE Trans. Inf. Theory 13(2), 260-269, 1967), for states of any kind.
 * @param count  number of frames, T
 * @param lattice  S states with their arcs; natural-log scores, -Infinity allowed
 * @param observe  writes the log score of frame t for each state into `scores` (length S, not cleared between calls)
 * @param enter  writes the additional cost of entering each state through the hub at frame t
 * @returns a state in [0, S) for each frame, empty if T = 0, and the path's log score. Of equal paths, the arc listed first wins.
 * @throws RangeError if no path has a finite score
 */
export function viterbi(
  count: number,
  lattice: Lattice,
  observe: (t: number, scores: Float64Array) => void,
  enter?: (t: number, scores: Float64Array) => void,
): { readonly path: Int32Array; readonly score: number } {
  const states = lattice.arcs.length;
  const path = new Int32Array(count);
  if (count === 0) return { path, score: 0 };
  const trellis = new Trellis(lattice);
  const { observed, entered } = trellis;
  const ways = new Ways(count, states, trellis.bits);
  observe(0, observed);
  trellis.begin(lattice.start);
  for (let t = 1; t < count; t++) {
    observe(t, observed);
    enter?.(t, entered);
    const hub = trellis.advance();
    ways.keep(t, trellis.taken, hub);
  }
  const { scores } = trellis;
  let last = 0;
  for (let s = 1; s < states; s++) if (scores[s] > scores[last]) last = s;
  const score = scores[last];
  if (score === Number.NEGATIVE_INFINITY || Number.isNaN(score)) {
    throw new RangeError('no path through the lattice has a finite score');
  }
  for (let t = count - 1; t >= 0; t--) {
    path[t] = last;
    if (t === 0) break;
    const arc = ways.arcInto(t, last);
    last = arc === VIA_HUB ? ways.hubs[t] : lattice.arcs[last][arc - 1].from;
  }
  return { path, score };
}

/** Marks a step through the hub; listed arcs count from 1. */
const VIA_HUB = 0;
/** A step into a state is stored in fewer bits if no state has more arcs than this. */
const FEW_ARCS = 3;
const FEW_BITS = 2;
const WORD_BITS = 16;

/** The kernel advances this many states at once where it can. */
const STATES_AT_ONCE = 8;

/** The scores of all states in one frame, in the kernel's memory. */
class Trellis {
  /** For the caller to fill: the evidence for each state, and the additional cost of entering it through the hub. */
  readonly observed: Float64Array;
  readonly entered: Float64Array;
  /** Which arc the best path took into each state, packed. */
  readonly taken: Uint16Array;
  readonly bits: number;
  readonly #kernel: Kernel;
  readonly #states: number;
  readonly #firstArcsAt: number;
  readonly #sourcesAt: number;
  readonly #costsAt: number;
  readonly #hubsAt: number;
  readonly #hubs: number;
  readonly #hubCostsAt: number;
  readonly #enteredAt: number;
  readonly #observedAt: number;
  readonly #takenAt: number;
  /** What `advanceSteady` needs; null if not every state may persist. */
  readonly #steady: SteadyAt | null;
  #scoresAt: number;
  #nextAt: number;

  constructor({ arcs, hub }: Lattice) {
    const states = arcs.length;
    const room = STATES_AT_ONCE * Math.ceil(states / STATES_AT_ONCE);
    const all = arcs.flat();
    const from = hub?.from ?? [];
    const kernel = new Kernel(8 * (12 * room + 4 * all.length + from.length + 64));
    this.#kernel = kernel;
    this.#states = states;
    this.#hubs = from.length;
    this.bits = arcs.every((into) => into.length <= FEW_ARCS) ? FEW_BITS : WORD_BITS;
    let first = 0;
    this.#firstArcsAt = kernel.keepWords([0, ...arcs.map((into) => (first += into.length))]);
    this.#sourcesAt = kernel.keepWords(all.map((arc) => 8 * arc.from));
    this.#costsAt = kernel.keepDoubles(all.map(({ score }) => score));
    this.#hubsAt = kernel.keepWords(from.map((state) => 8 * state));
    const hubCosts = new Float64Array(room).fill(Number.NEGATIVE_INFINITY);
    for (const { state, score } of hub?.to ?? []) hubCosts[state] = score;
    this.#hubCostsAt = kernel.keepDoubles(hubCosts);
    const [observedAt, enteredAt, scoresAt, nextAt] = [0, 0, 0, 0].map(() => kernel.reserve(2 * room));
    this.#observedAt = observedAt;
    this.observed = kernel.doublesAt(observedAt, states);
    this.#enteredAt = enteredAt;
    this.entered = kernel.doublesAt(enteredAt, states);
    this.#scoresAt = scoresAt;
    this.#nextAt = nextAt;
    this.#takenAt = kernel.reserve(states);
    this.taken = new Uint16Array(
      kernel.words.buffer,
      this.#takenAt,
      Math.ceil((this.bits * states) / WORD_BITS),
    );
    this.#steady = isSteady(arcs, from) ? keepSteady(kernel, arcs, from, room) : null;
    kernel.doublesAt(scoresAt, room).fill(Number.NEGATIVE_INFINITY);
  }

  get scores(): Float64Array {
    return this.#kernel.doublesAt(this.#scoresAt, this.#states);
  }

  /** Scores the first frame, after it has been observed. */
  begin(start: Float64Array): void {
    const { scores, observed } = this;
    for (let s = 0; s < scores.length; s++) scores[s] = start[s] + observed[s];
  }

  /** Scores the next frame, after it has been observed. @returns the state from which the hub leads */
  advance(): number {
    const hub = this.#steady === null ? this.#advance() : this.#advanceSteady(this.#steady);
    [this.#scoresAt, this.#nextAt] = [this.#nextAt, this.#scoresAt];
    return hub / 8;
  }

  #advanceSteady({
    states,
    costsAt,
    othersAt,
    otherCostsAt,
    otherCount,
    secondAt,
    hubsAt,
  }: SteadyAt): number {
    return this.#kernel.code.advanceSteady(
      states,
      costsAt,
      othersAt,
      otherCostsAt,
      otherCount,
      secondAt,
      hubsAt,
      this.#hubCostsAt,
      this.#enteredAt,
      this.#observedAt,
      this.#scoresAt,
      this.#nextAt,
      this.#takenAt,
    );
  }

  #advance(): number {
    return this.#kernel.code.advance(
      this.#states,
      this.#firstArcsAt,
      this.#sourcesAt,
      this.#costsAt,
      this.#hubsAt,
      this.#hubs,
      this.#hubCostsAt,
      this.#enteredAt,
      this.#observedAt,
      this.bits,
      this.#scoresAt,
      this.#nextAt,
      this.#takenAt,
    );
  }
}

/** Counts, and byte offsets in the kernel's memory, of a lattice in which every state may persist (see `advanceSteady`). */
interface SteadyAt {
  readonly states: number;
  readonly costsAt: number;
  readonly othersAt: number;
  readonly otherCostsAt: number;
  readonly otherCount: number;
  readonly secondAt: number;
  readonly hubsAt: number;
}

/** Whether every state has an arc from itself, listed first, and at most one more, and the states before the hub are in order. */
function isSteady(arcs: Lattice['arcs'], hubFrom: readonly number[]): boolean {
  return (
    arcs.every((into, s) => into.length > 0 && into.length <= 2 && into[0].from === s) &&
    hubFrom.every((state, i) => i === 0 || state > hubFrom[i - 1])
  );
}

function keepSteady(
  kernel: Kernel,
  arcs: Lattice['arcs'],
  hubFrom: readonly number[],
  states: number,
): SteadyAt {
  const none = new Float64Array(states).fill(Number.NEGATIVE_INFINITY);
  const costsAt = kernel.keepDoubles(none);
  const secondAt = kernel.keepDoubles(none);
  const hubsAt = kernel.keepDoubles(none);
  kernel.doublesAt(costsAt, arcs.length).set(arcs.map(([own]) => own.score));
  const hubs = kernel.doublesAt(hubsAt, states);
  for (const state of hubFrom) hubs[state] = 0;
  const others = arcs.flatMap((into, s) => (into.length > 1 ? [{ into: s, ...into[1] }] : []));
  return {
    states,
    costsAt,
    othersAt: kernel.keepWords(others.flatMap(({ into, from }) => [8 * into, 8 * from])),
    otherCostsAt: kernel.keepDoubles(others.map(({ score }) => score)),
    otherCount: others.length,
    secondAt,
    hubsAt,
  };
}

/** How the best path reached each state in each frame. */
class Ways {
  /** For each frame, the state from which the hub led. */
  readonly hubs: Int32Array;
  readonly #taken: Uint16Array;
  readonly #rowLength: number;
  readonly #bits: number;

  constructor(count: number, states: number, bits: number) {
    this.#bits = bits;
    this.#rowLength = Math.ceil((bits * states) / WORD_BITS);
    this.#taken = new Uint16Array(count * this.#rowLength);
    this.hubs = new Int32Array(count);
  }

  keep(t: number, taken: Uint16Array, hub: number): void {
    this.#taken.set(taken, t * this.#rowLength);
    this.hubs[t] = hub;
  }

  arcInto(t: number, state: number): number {
    const at = this.#bits * state;
    const word = this.#taken[t * this.#rowLength + Math.floor(at / WORD_BITS)];
    return (word >> (at % WORD_BITS)) & ((1 << this.#bits) - 1);
  }
}
