import { readFileSync } from 'node:fs';

/**
 * The inner loops of the program, compiled from `src/kernel/` (AssemblyScript) to WebAssembly, because they use the vector
 * instructions of the processor, which JavaScript can't. Arguments are counts, and byte offsets in the kernel's memory;
 * each function is described beside its source.
 */
interface Code {
  base(): number;
  transform(
    signal: number,
    at0: number,
    at1: number,
    at2: number,
    at3: number,
    length: number,
    window: number,
    order: number,
    points: number,
    data: number,
    twiddles: number,
  ): void;
  unpack(data: number, points: number, turns: number, to: number, complex: number, power: number): void;
  power(data: number, points: number, turns: number, from: number, to: number, out: number): void;
  sum(values: number, from: number, to: number, out: number): void;
  compress(power: number, inverse: number, from: number, to: number, out: number): void;
  interpolate(spectrum: number, places: number, count: number, out: number): void;
  comb(spectrum: number, teeth: number, number: number, scale: number, count: number, out: number): void;
  part(input: number, pairs: number, first: number, second: number): void;
  halve(even: number, odd: number, taps: number, pairs: number, count: number, out: number): void;
  peak(data: number, count: number): number;
  highest(data: number, count: number, sign: number): number;
  countAbove(data: number, count: number, sign: number, level: number): number;
  gatherAbove(data: number, count: number, sign: number, level: number, out: number): number;
  quantise(data: number, count: number, factor: number, out: number): void;
  sumOfSquares(integers: number, count: number): number;
  dropNaN(values: number, count: number): number;
  select(values: number, count: number, place: number): number;
  largest(values: number, count: number): number;
  resample(signal: number, from: number, pace: number, count: number, out: number): void;
  widen(integers: number, count: number, scale: number, out: number): void;
  spread(values: number, count: number, rows: number, stride: number, twice: number): void;
  growth(rows: number, number: number, stride: number, count: number, gain: number, out: number): void;
  gather(rows: number, number: number, stride: number, count: number, out: number, outStride: number): void;
  dense(
    inputs: number,
    pairs: number,
    weights: number,
    scales: number,
    bias: number,
    outputs: number,
    count: number,
    out: number,
    added: number,
    stride: number,
    linear: number,
    packed: number,
  ): void;
  tell(first: number, second: number, count: number, out: number): void;
  depthwise(
    input: number,
    channels: number,
    weights: number,
    dilation: number,
    count: number,
    out: number,
    stride: number,
  ): void;
  advance(
    states: number,
    firstArcs: number,
    sources: number,
    costs: number,
    hubs: number,
    hubCount: number,
    hubCosts: number,
    entered: number,
    observed: number,
    bits: number,
    scores: number,
    next: number,
    taken: number,
  ): number;
  advanceSteady(
    states: number,
    costs: number,
    others: number,
    otherCosts: number,
    otherCount: number,
    second: number,
    hubs: number,
    hubCosts: number,
    entered: number,
    observed: number,
    scores: number,
    next: number,
    taken: number,
  ): number;
  combPitches(comb: number, weight: number, threshold: number, scores: number): void;
  hearPitches(
    count: number,
    rows: number,
    below: number,
    costs: number,
    sounding: number,
    onset: number,
    besideCost: number,
    weight: number,
    attackCost: number,
    onsetWeight: number,
    scores: number,
    begun: number,
  ): void;
  scoreTogether(
    memberCount: number,
    members: number,
    joinedCount: number,
    joined: number,
    summed: number,
    count: number,
    wholes: number,
    sizes: number,
    biases: number,
    weight: number,
    onsetWeight: number,
    scores: number,
    begun: number,
  ): void;
  partLanes(
    lanes: number,
    from: number,
    to: number,
    count: number,
    out: number,
    stride: number,
    mean: number,
  ): void;
  joinRuns(runs: number, other: number, same: number): number;
  open(decoder: number, times: number, logShares: number, beam: number): number;
  changeTempo(decoder: number, times: number, keep: number, move: number, weight: number): number;
  arrive(decoder: number, times: number, beam: number, slip: number): number;
  peaks(strength: number, count: number, least: number, most: number, out: number): void;
}

/** Next to the compiled program, wherever this file runs from. */
const PATH = new URL('../dist/kernel.wasm', import.meta.url);
const PAGE_BYTES = 65_536;
/** Memory at the start that the compiled loops use for constants, at most. */
const CONSTANTS_BYTES = 4096;
/** Vectors are read fastest at multiples of this. */
const ALIGNMENT = 16;
/** How many integers `widen` takes at once. */
const MOST_INTEGERS = 4096;

const compiled = new WebAssembly.Module(readFileSync(PATH));

/** The compiled loops with a memory of their own. Memory is allocated but never released; it goes with the kernel. */
export class Kernel {
  readonly code: Code;
  /** The memory as 32-bit floats, indexed by byte offset / 4. */
  readonly floats: Float32Array;
  readonly words: Uint32Array;
  /** The memory as 64-bit floats, indexed by byte offset / 8. */
  readonly doubles: Float64Array;
  /** The memory as 16-bit integers, indexed by byte offset / 2. */
  readonly shorts: Int16Array;
  #used: number;
  #integersAt = -1;

  /** @param bytes  capacity */
  constructor(bytes: number) {
    const memory = new WebAssembly.Memory({ initial: Math.ceil((bytes + CONSTANTS_BYTES) / PAGE_BYTES) });
    const instance = new WebAssembly.Instance(compiled, { env: { memory } });
    this.code = instance.exports as unknown as Code;
    this.#used = Math.ceil(this.code.base() / ALIGNMENT) * ALIGNMENT;
    this.floats = new Float32Array(memory.buffer);
    this.words = new Uint32Array(memory.buffer);
    this.doubles = new Float64Array(memory.buffer);
    this.shorts = new Int16Array(memory.buffer);
  }

  /** Allocates `count` 32-bit numbers, all 0. @returns their byte offset */
  reserve(count: number): number {
    const at = this.#used;
    this.#used += Math.ceil((4 * count) / ALIGNMENT) * ALIGNMENT;
    if (this.#used > 4 * this.floats.length) throw new RangeError('the kernel was given too little memory');
    return at;
  }

  /** Copies 32-bit floats into the memory. @returns their byte offset */
  keep(numbers: ArrayLike<number>): number {
    const at = this.reserve(numbers.length);
    this.floats.set(numbers, at / 4);
    return at;
  }

  /** Copies unsigned 32-bit integers into the memory. @returns their byte offset */
  keepWords(numbers: ArrayLike<number>): number {
    const at = this.reserve(numbers.length);
    this.words.set(numbers, at / 4);
    return at;
  }

  /** Copies 64-bit floats into the memory. @returns their byte offset */
  keepDoubles(numbers: ArrayLike<number>): number {
    const at = this.reserve(2 * numbers.length);
    this.doubles.set(numbers, at / 8);
    return at;
  }

  /** A view of `count` 64-bit floats from a byte offset. */
  doublesAt(at: number, count: number): Float64Array {
    return this.doubles.subarray(at / 8, at / 8 + count);
  }

  /** Allocates 64-bit floats, all 0. */
  newDoubles(count: number): Float64Array {
    return this.doublesAt(this.reserve(2 * count), count);
  }

  /** Allocates 16-bit integers, all 0. */
  newShorts(count: number): Int16Array {
    const at = this.reserve(Math.ceil(count / 2)) / 2;
    return this.shorts.subarray(at, at + count);
  }

  /** Allocates bytes, all 0. */
  newBytes(count: number): Uint8Array {
    return new Uint8Array(this.floats.buffer, this.reserve(Math.ceil(count / 4)), count);
  }

  /** Writes up to 4096 16-bit integers times `scale` to a byte offset; up to seven more floats are overwritten. */
  widen(integers: Int16Array, scale: number, to: number): void {
    if (this.#integersAt < 0) this.#integersAt = this.reserve(MOST_INTEGERS / 2 + 4);
    this.shorts.set(integers, this.#integersAt / 2);
    this.code.widen(this.#integersAt, integers.length, scale, to);
  }
}
