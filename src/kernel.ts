import { readFileSync } from 'node:fs';

/**
 * The inner loops of the programme, compiled from `src/kernel/` (AssemblyScript) to WebAssembly: they use the vector
 * instructions of the processor, which JavaScript can't. Arguments are byte offsets in the kernel's memory and
 * counts; what each does is said beside its source.
 */
interface Code {
  base(): number;
  deinterleave(
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
  ): void;
  transform(data: number, points: number, twiddles: number): void;
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
  dropNaN(values: number, count: number): number;
  select(values: number, count: number, place: number): number;
  largest(values: number, count: number): number;
  resample(signal: number, from: number, pace: number, count: number, out: number): void;
  widen(integers: number, count: number, scale: number, out: number): void;
  spread(values: number, count: number, rows: number, stride: number, twice: number): void;
  growth(rows: number, number: number, stride: number, count: number, gain: number, out: number): void;
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
  scoreTogether(
    count: number,
    sizes: number,
    members: number,
    biases: number,
    weight: number,
    onsetWeight: number,
    scores: number,
    begun: number,
  ): void;
  peaks(strength: number, count: number, least: number, most: number, out: number): void;
}

/** Beside the compiled programme, from wherever this file is run. */
const PATH = new URL('../dist/kernel.wasm', import.meta.url);
const PAGE_BYTES = 65_536;
/** The compiled loops keep no more than this to themselves. */
const CONSTANTS_BYTES = 4096;
/** Vectors are read fastest from here. */
const ALIGNMENT = 16;
/** That `widen` takes at once. */
const MOST_INTEGERS = 4096;

const compiled = new WebAssembly.Module(readFileSync(PATH));

/** The compiled loops with a memory of their own; memory is given out, never taken back, and goes with the kernel. */
export class Kernel {
  readonly code: Code;
  /** The memory by 32-bit numbers: byte offset / 4 is the index. */
  readonly floats: Float32Array;
  readonly words: Uint32Array;
  /** The same by 64-bit numbers: byte offset / 8 is the index. */
  readonly doubles: Float64Array;
  /** The same by 16-bit numbers: byte offset / 2 is the index. */
  readonly shorts: Int16Array;
  #used: number;
  #integersAt = -1;

  /** @param bytes that can be given out */
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

  /** Byte offset of room for so many 32-bit numbers, all 0. */
  reserve(count: number): number {
    const at = this.#used;
    this.#used += Math.ceil((4 * count) / ALIGNMENT) * ALIGNMENT;
    if (this.#used > 4 * this.floats.length) throw new RangeError('the kernel was given too little memory');
    return at;
  }

  /** Byte offset of a copy of these numbers. */
  keep(numbers: ArrayLike<number>): number {
    const at = this.reserve(numbers.length);
    this.floats.set(numbers, at / 4);
    return at;
  }

  /** Byte offset of a copy of these whole numbers, 0 or more. */
  keepWords(numbers: ArrayLike<number>): number {
    const at = this.reserve(numbers.length);
    this.words.set(numbers, at / 4);
    return at;
  }

  /** Byte offset of a copy of these numbers in 64 bits. */
  keepDoubles(numbers: ArrayLike<number>): number {
    const at = this.reserve(2 * numbers.length);
    this.doubles.set(numbers, at / 8);
    return at;
  }

  /** So many 64-bit numbers from a byte offset on, to be read and written. */
  doublesAt(at: number, count: number): Float64Array {
    return this.doubles.subarray(at / 8, at / 8 + count);
  }

  /** Up to 4096 16-bit integers times `scale`, to a byte offset; up to seven floats more are written. */
  widen(integers: Int16Array, scale: number, to: number): void {
    if (this.#integersAt < 0) this.#integersAt = this.reserve(MOST_INTEGERS / 2 + 4);
    this.shorts.set(integers, this.#integersAt / 2);
    this.code.widen(this.#integersAt, integers.length, scale, to);
  }
}
