/** A wave in a pitch or a level, for as long as it lasts. */
export interface Swing {
  readonly hz: number;
  /** From the middle to the peak, in the unit of the values. */
  readonly depth: number;
  /** Share of the movement that a sine explains, 0 to 1. */
  readonly share: number;
  /** Index of the first value, and of the one after the last. */
  readonly from: number;
  readonly to: number;
}

/** What counts as a wave. */
export interface SwingLimits {
  readonly slowestHz: number;
  readonly fastestHz: number;
  /** From the middle to the peak, in the unit of the values. */
  readonly leastDepth: number;
  /** Share of the movement around its slow curve that one sine must explain. */
  readonly leastShare: number;
  readonly fewestWaves: number;
}

/** Windows to which a sine is fitted; the longer one if the values last long enough. */
const WINDOWS_SEC = [0.6, 0.4];
/** Steps between windows and between rates. Set by hand, no source. */
const HOP_SEC = 0.1;
const STEP_HZ = 0.25;
/** The rate changes by at most this share from one window to the next. */
const STEADY_SHARE = 0.2;

/** A sine in one window. */
interface WindowFit {
  readonly hz: number;
  readonly depth: number;
  readonly share: number;
}

/** Finds waves in values at equal steps. */
export class SwingFinder {
  readonly #limits: SwingLimits;
  readonly #stepSec: number;
  readonly #windows: readonly SineWindow[];

  constructor(stepSec: number, limits: SwingLimits) {
    this.#limits = limits;
    this.#stepSec = stepSec;
    this.#windows = WINDOWS_SEC.map((sec) => new SineWindow(Math.round(sec / stepSec), stepSec, limits));
  }

  /** The longest wave that lasts for at least the required number of turns; null if there is none. */
  find(values: readonly number[]): Swing | null {
    const window = this.#windows.find(({ length }) => length <= values.length);
    if (window === undefined) return null;
    const hop = Math.max(1, Math.round(HOP_SEC / this.#stepSec));
    // A single bump can fill one window.
    const fewest = values.length >= window.length + 2 * hop ? 2 : 1;
    let best: Swing | null = null;
    let run: WindowFit[] = [];
    let runFrom = 0;
    for (let at = 0; at + window.length <= values.length; at += hop) {
      const fit = window.fit(values, at);
      if (fit === null) {
        run = [];
        continue;
      }
      const last = run[run.length - 1];
      if (last === undefined || Math.abs(fit.hz - last.hz) > STEADY_SHARE * last.hz) {
        run = [];
        runFrom = at;
      }
      run.push(fit);
      const swing = this.#swingOf(run, runFrom, at + window.length);
      if (
        swing !== null &&
        run.length >= fewest &&
        (best === null || swing.to - swing.from > best.to - best.from)
      )
        best = swing;
    }
    return best;
  }

  #swingOf(run: readonly WindowFit[], from: number, to: number): Swing | null {
    const hz = run.reduce((sum, fit) => sum + fit.hz, 0) / run.length;
    if (hz * (to - from) * this.#stepSec < this.#limits.fewestWaves) return null;
    const depths = run.map(({ depth }) => depth).sort((a, b) => a - b);
    const share = run.reduce((sum, fit) => sum + fit.share, 0) / run.length;
    return { hz, depth: depths[depths.length >> 1], share, from, to };
  }
}

interface SineRate {
  readonly hz: number;
  readonly cos: Float64Array;
  readonly sin: Float64Array;
}

/** Sines of several rates over a window of one length, and the slow curve that is removed first. */
class SineWindow {
  readonly length: number;
  readonly #limits: SwingLimits;
  readonly #stepSec: number;
  #rates: readonly SineRate[] | undefined;
  /** Orthonormal constant, slope and curvature. */
  readonly #curves: readonly Float64Array[];
  readonly #around: Float64Array;

  constructor(length: number, stepSec: number, limits: SwingLimits) {
    this.length = length;
    this.#limits = limits;
    this.#stepSec = stepSec;
    this.#around = new Float64Array(length);
    this.#curves = orthonormal([0, 1, 2].map((power) => curve(length, (t) => t ** power)));
  }

  #makeRates(): SineRate[] {
    const { length } = this;
    const rates: SineRate[] = [];
    for (let hz = this.#limits.slowestHz; hz <= this.#limits.fastestHz + 1e-9; hz += STEP_HZ) {
      const turn = 2 * Math.PI * hz * this.#stepSec;
      // Without the part that the curve would remove, and orthogonal to each other.
      const [, , , cos, sin] = orthonormal([
        ...this.#curves,
        Float64Array.from({ length }, (_, i) => Math.cos(turn * i)),
        Float64Array.from({ length }, (_, i) => Math.sin(turn * i)),
      ]);
      rates.push({ hz, cos, sin });
    }
    return rates;
  }

  /** The sine that explains most of the movement; null if it explains too little or is too shallow. */
  fit(values: readonly number[], at: number): WindowFit | null {
    const { length } = this;
    const around = this.#around;
    for (let i = 0; i < length; i++) around[i] = values[at + i];
    for (const one of this.#curves) {
      const share = dot(one, around);
      for (let i = 0; i < length; i++) around[i] -= share * one[i];
    }
    const power = dot(around, around);
    // The power of a sine is half the square of its depth.
    if (power < (0.5 * length * this.#limits.leastDepth ** 2) / 1.5) return null;
    // Made only when needed: most takes never get this far in every window length.
    this.#rates ??= this.#makeRates();
    let best = 0;
    let most = 0;
    for (let i = 0; i < this.#rates.length; i++) {
      const { cos, sin } = this.#rates[i];
      const explained = dot(cos, around) ** 2 + dot(sin, around) ** 2;
      if (explained > most) {
        most = explained;
        best = i;
      }
    }
    // If the slowest rate fits best, the movement is slower still.
    if (best === 0) return null;
    const { hz } = this.#rates[best];
    const depth = Math.sqrt((2 * most) / length);
    if (most < this.#limits.leastShare * power || depth < this.#limits.leastDepth) return null;
    return { hz, depth, share: most / power };
  }
}

function curve(length: number, of: (t: number) => number): Float64Array {
  return Float64Array.from({ length }, (_, i) => of((2 * i) / (length - 1) - 1));
}

/** The same span by orthogonal vectors (Gram and Schmidt). */
function orthonormal(vectors: readonly Float64Array[]): Float64Array[] {
  const done: Float64Array[] = [];
  for (const vector of vectors) {
    const next = vector.slice();
    for (const one of done) {
      const share = dot(one, next);
      for (let i = 0; i < next.length; i++) next[i] -= share * one[i];
    }
    const norm = Math.sqrt(dot(next, next));
    for (let i = 0; i < next.length; i++) next[i] /= norm;
    done.push(next);
  }
  return done;
}

export function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}
