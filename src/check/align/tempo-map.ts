import { median } from '../../statistics.ts';

/** A student's note and the note of the reference that it stands for. */
export interface TimedPair {
  /** Places in the take and in the reference. */
  readonly a: number;
  readonly b: number;
  /** Onset of the student's note in seconds, and of the reference's in its own unit. */
  readonly sec: number;
  readonly place: number;
  /** Number of the stretch; a new one begins where the student went back. */
  readonly stretch: number;
}

/** How early or late one note came, compared with the notes around it. */
export interface NoteTiming {
  readonly pair: TimedPair;
  /** Relative to the notes before it, and below for the step from the note before; positive is late, in seconds. */
  readonly afterBeforeSec: number | null;
  /** The same relative to the notes after it: near 0 where those are just as late, as after a pause. */
  readonly againstNextSec: number | null;
  readonly stepSec: number | null;
}

/** Notes on either side that determine the tempo, and on one side that determine the beat. */
const SIDE_NOTES = 8;
const NEAR_NOTES = 5;
const FEWEST_NEAR = 2;
/** In longer takes only this many notes are used to find the overall tempo. */
const MOST_FOR_SLOPE = 64;

/**
 * The student's own tempo: seconds against places in the reference, locally, by medians (Theil, 1950; Sen, JASA
 * 63(324), 1379-1389, 1968), so that single late notes don't distort it.
 */
export class TempoMap {
  readonly pairs: readonly TimedPair[];
  readonly #slopes: readonly number[];
  /** Number of the run between two stops; the tempo is only measured within runs. */
  readonly #runs: readonly number[];

  /** @param pairs in order of playing */
  constructor(pairs: readonly TimedPair[]) {
    this.pairs = pairs;
    this.#runs = runsOf(pairs);
    const whole = this.#slopeOf(0, pairs.length - 1, Math.ceil(pairs.length / MOST_FOR_SLOPE));
    this.#slopes = pairs.map(
      (_, i) => this.#slopeOf(i - SIDE_NOTES, i + SIDE_NOTES, 1) ?? whole ?? Number.NaN,
    );
  }

  /** Seconds for one unit of the reference around a pair; NaN when it can't be told. */
  slopeAt(index: number): number {
    return this.#slopes[index] ?? Number.NaN;
  }

  /**
   * Where in the reference a student's note belongs by its time alone, for each stretch: as judged by the notes around
   * it, and by those before or after it alone, since the student may have stopped there. Empty when that is unknown.
   */
  placesOf(a: number, sec: number): number[] {
    const near = this.#near(a);
    if (near === null) return [];
    const around = this.pairs.slice(Math.max(0, near - NEAR_NOTES), near + NEAR_NOTES + 1);
    const stretches = new Set(around.map(({ stretch }) => stretch));
    return [...stretches].flatMap((stretch) => {
      const members = around.filter((pair) => pair.stretch === stretch && pair.a !== a);
      const slope = this.#slopes[this.#near(members[0]?.a ?? a) ?? near];
      if (!(slope > 0)) return [];
      const sides = [members, members.filter((pair) => pair.a < a), members.filter((pair) => pair.a > a)];
      return sides
        .filter(({ length }) => length >= FEWEST_NEAR)
        .map((side) => median(side.map((pair) => pair.place + (sec - pair.sec) / slope)));
    });
  }

  /** When a note of the reference should have come, by the pairs next to a student's note; null when unknown. */
  secOf(place: number, nearA: number): number | null {
    const near = this.#near(nearA);
    if (near === null) return null;
    const slope = this.#slopes[near];
    const around = this.#around(near, 2);
    if (!(slope > 0)) return around.length > 0 ? around[0].sec : null;
    return median(around.map((pair) => pair.sec + (place - pair.place) * slope));
  }

  /** The timing of each pair relative to its neighbours. */
  timings(): NoteTiming[] {
    return this.pairs.map((pair, i) => {
      const slope = this.#slopes[i];
      const off = (other: TimedPair): number => pair.sec - other.sec - (pair.place - other.place) * slope;
      const before = this.#side(i, -1);
      const after = this.#side(i, 1);
      const told = slope > 0;
      return {
        pair,
        afterBeforeSec: told && before.length >= FEWEST_NEAR ? median(before.map(off)) : null,
        againstNextSec: told && after.length >= FEWEST_NEAR ? median(after.map(off)) : null,
        stepSec: told && before.length > 0 ? off(before[0]) : null,
      };
    });
  }

  /** Median slope between all pairs of points without a stop between them; null with fewer than three. */
  #slopeOf(from: number, to: number, every: number): number | null {
    const slopes: number[] = [];
    const last = Math.min(this.pairs.length - 1, to);
    for (let i = Math.max(0, from); i <= last; i += every) {
      for (let k = i + every; k <= last && this.#runs[k] === this.#runs[i]; k += every) {
        const run = this.pairs[k].place - this.pairs[i].place;
        if (run > 0) slopes.push((this.pairs[k].sec - this.pairs[i].sec) / run);
      }
    }
    return slopes.length < 3 ? null : median(slopes);
  }

  #near(a: number): number | null {
    if (this.pairs.length === 0) return null;
    let low = 0;
    let high = this.pairs.length - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.pairs[middle].a < a) low = middle + 1;
      else high = middle;
    }
    const before = this.pairs[low - 1];
    return before !== undefined && Math.abs(before.a - a) < Math.abs(this.pairs[low].a - a) ? low - 1 : low;
  }

  #around(index: number, side: number): TimedPair[] {
    const { stretch } = this.pairs[index];
    return this.pairs
      .slice(Math.max(0, index - side), index + side + 1)
      .filter((pair) => pair.stretch === stretch);
  }

  /** The pairs before or after one, the nearest first. */
  #side(index: number, step: 1 | -1): TimedPair[] {
    const found: TimedPair[] = [];
    const { stretch } = this.pairs[index];
    for (let i = index + step; found.length < NEAR_NOTES; i += step) {
      if (this.pairs[i]?.stretch !== stretch) break;
      // Notes beyond another stop keep a time of their own.
      if (found.length >= FEWEST_NEAR && this.#runs[i] !== this.#runs[i - step]) break;
      found.push(this.pairs[i]);
    }
    return found;
  }
}

/** A step this much longer than those around it, and by this much in seconds, is a stop. */
const STOP_TIMES = 1.3;
const STOP_SEC = 0.08;
const STEPS_AROUND = 6;

function runsOf(pairs: readonly TimedPair[]): number[] {
  const steps = pairs.map((pair, i): number => {
    const before = pairs[i - 1];
    const run = before === undefined || before.stretch !== pair.stretch ? 0 : pair.place - before.place;
    return run > 0 ? (pair.sec - before.sec) / run : Number.NaN;
  });
  let run = 0;
  return pairs.map((pair, i) => {
    if (i === 0) return run;
    const around = steps
      .slice(Math.max(0, i - STEPS_AROUND), i + STEPS_AROUND + 1)
      .filter((step) => !Number.isNaN(step));
    const usual = around.length === 0 ? Number.NaN : median(around);
    const length = pair.place - pairs[i - 1].place;
    const stops = steps[i] > STOP_TIMES * usual && (steps[i] - usual) * length > STOP_SEC;
    if (stops || Number.isNaN(steps[i])) run++;
    return run;
  });
}
