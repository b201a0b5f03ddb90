import type { Kernel } from '../../kernel.ts';
import { median } from '../../statistics.ts';
import { TICKS_PER_BEAT } from './metre.ts';

/** Spread of an onset around the player's clock, and of the clock from note to note as a share of the time. */
const JITTER_SEC = 0.025;
const JITTER_SHARE = 0.04;
/** Share of an onset's spread that remains in the estimate of the clock after it (a Kalman filter in steady state). */
const CLOCK_SHARE = 0.4;
/** How far the clock is ahead of an onset is tracked in steps of this size, up to this many. */
const AHEAD_STEP_SEC = 0.006;
const MOST_AHEAD = 7;
export const AHEAD_STATES = 2 * MOST_AHEAD + 1;
/** Log density, per second, of a time that fits nowhere (a slip). */
export const SLIP = -9;
/** Times more than this many spreads off are slips: there the tail of the normal curve is under a hundredth of one slip. */
const FARTHEST_SPREADS = 6;
/** A time whose score exceeds that of a slip by this much, in natural log, is never a slip. */
export const NO_SLIP = 0.5;
/**
 * Share of times that are further off than usual, and by how many spreads. In 78 transcribed development takes half of the
 * times are within 9 ms of what was played and 2 % are off by more than 50 ms, which no single normal curve fits.
 */
const LOOSE_SHARE = 0.05;
const LOOSE_SPREADS = 2.5;
/** An onset more than this many spreads off the clock moves the clock with it. */
const FOLLOWED_SPREADS = 3;
/** Longest time between two onsets, in ticks. */
export const LONGEST_TICKS = 12 * TICKS_PER_BEAT;
/** A rest may be kept in time, stretched for a breath, or cut short: the share of each, and by how many seconds. */
const REST = {
  kept: 0.35,
  stretched: 0.5,
  cut: 0.1,
  waited: 0.05,
  stretchSec: 0.3,
  cutSec: 0.15,
  waitSec: 4,
};
/**
 * A long note may be held beyond its time without a breath (a fermata, or a breath hidden by the room): how often, by how
 * much on average and at most, and how long a note must be, in seconds and relative to the median step. Of shares of 0, 2
 * and 5 % and lengths from 0.5 to 0.9 s, these had the most downbeats right where pauses are filled, without loss elsewhere
 * (tests/bench/music/bars.ts).
 */
const HELD = { share: 0.03, sec: 0.4, mostSec: 0.8, fromSec: 0.5, fromSteps: 1.6 };
/**
 * Share of its written length for which a note before a rest sounds, and its spread (as in note-values.ts). A share `rests`
 * has a written rest after it, so that the note may have sounded for any time. The evidence counts half (of 0, 0.5 and 1
 * the best on tunes left out of every fit), and only if the gap is no longer than a breath: a longer one is a rest of the
 * tune, or talk.
 */
const SOUNDED = { share: 0.85, spread: 0.13, rests: 0.25, weight: 0.5, breathSec: 1 };

/** A row that is ready, beside 0 for one that nobody asked for and what the kernel writes for one that it wants. */
const KNOWN = 1;

/** The fewest and the most ticks of each row. */
interface TicksOfRows {
  readonly fewest: Int16Array;
  readonly most: Int16Array;
}

/**
 * Log densities of one time between two onsets, for every tempo, every lead of the clock over the first onset, and every
 * distance in ticks. A row is worked out when first asked for, and only where the time is not a slip, so that all bar plans
 * share the work.
 */
export class TimeScores {
  /** Byte offset of what the kernel needs to know. */
  readonly at: number;
  readonly #kernel: Kernel;
  readonly #beatSec: readonly number[];
  readonly #width = LONGEST_TICKS + 1;
  /** Scores at `row * width + ticks`; valid only within `withSlips`. */
  readonly scores: Float64Array;
  /** For each score: how far the clock would then be ahead of the second onset, as a state. */
  readonly ahead: Uint8Array;
  readonly withSlips: TicksOfRows;
  /** Within these ticks the time is not a slip; if it is one everywhere, the fewest exceed the most. */
  readonly likely: TicksOfRows;
  /** Best score of each row. */
  readonly peak: Float64Array;
  readonly #known: Uint8Array;
  readonly #wantedAt: number;
  #sec = 0;
  #restSec = 0;

  /** Bytes of the kernel's memory that this many tempos take, at most. */
  static bytesFor(tempos: number): number {
    return tempos * AHEAD_STATES * (9 * (LONGEST_TICKS + 1) + 32) + 1024;
  }

  /** @param beatSec  seconds per beat of each tempo */
  constructor(kernel: Kernel, beatSec: readonly number[]) {
    const rows = beatSec.length * AHEAD_STATES;
    this.#kernel = kernel;
    this.#beatSec = beatSec;
    this.scores = kernel.newDoubles(rows * this.#width);
    this.ahead = kernel.newBytes(rows * this.#width);
    this.withSlips = { fewest: kernel.newShorts(rows), most: kernel.newShorts(rows) };
    this.likely = { fewest: kernel.newShorts(rows), most: kernel.newShorts(rows) };
    this.peak = kernel.newDoubles(rows);
    this.#known = kernel.newBytes(rows);
    this.#wantedAt = kernel.reserve(rows);
    const { scores, ahead, peak, withSlips, likely } = this;
    const arrays = [scores, ahead, peak, withSlips.fewest, withSlips.most, likely.fewest, likely.most];
    this.at = kernel.keepWords([
      0,
      this.#width,
      AHEAD_STATES,
      NOT_AHEAD,
      ...[...arrays, this.#known].map(({ byteOffset }) => byteOffset),
      this.#wantedAt,
    ]);
  }

  /** Advances to the next pair of onsets, `sec` apart, of which `restSec` are rest. */
  begin(sec: number, restSec: number): void {
    this.#sec = sec;
    this.#restSec = restSec;
    this.#known.fill(0);
    this.#kernel.words[this.at / 4] = restSec > 0 ? 1 : 0;
  }

  /** Makes the rows ready that the kernel wants. */
  answer(count: number): void {
    const first = this.#wantedAt / 4;
    for (let i = first; i < first + count; i++) {
      const row = this.#kernel.words[i];
      const ahead = row % AHEAD_STATES;
      this.know((row - ahead) / AHEAD_STATES, ahead);
    }
  }

  /** Makes the row of a tempo and lead ready. @returns the row */
  know(tempo: number, ahead: number): number {
    const row = tempo * AHEAD_STATES + ahead;
    if (this.#known[row] === KNOWN) return row;
    this.#known[row] = KNOWN;
    const tickSec = this.#beatSec[tempo] / TICKS_PER_BEAT;
    const sec = this.#sec - aheadSec(ahead);
    const at = row * this.#width;
    const nearest = Math.min(LONGEST_TICKS, Math.max(1, Math.round(sec / tickSec)));
    this.peak[row] = SLIP;
    let fewest = nearest + 1;
    let most = nearest;
    // Scores fall off to either side of the nearest distance.
    while (fewest > 1 && this.#score(row, sec, fewest - 1, tickSec) > SLIP + NO_SLIP) fewest--;
    while (most < LONGEST_TICKS && this.#score(row, sec, most + 1, tickSec) > SLIP + NO_SLIP) most++;
    this.likely.fewest[row] = fewest;
    this.likely.most[row] = most;
    if (fewest > most) {
      this.#slip(at, 0, this.#width);
      this.withSlips.fewest[row] = 1;
      this.withSlips.most[row] = LONGEST_TICKS;
      return row;
    }
    // One beat more on either side, so that every place can reach another one.
    this.withSlips.fewest[row] = Math.max(1, fewest - TICKS_PER_BEAT);
    this.withSlips.most[row] = Math.min(LONGEST_TICKS, most + TICKS_PER_BEAT);
    this.#slip(at, this.withSlips.fewest[row], fewest);
    this.#slip(at, most + 1, this.withSlips.most[row] + 1);
    return row;
  }

  #slip(at: number, from: number, to: number): void {
    this.scores.fill(SLIP, at + from, at + to);
    this.ahead.fill(MOST_AHEAD, at + from, at + to);
  }

  #score(row: number, sec: number, ticks: number, tickSec: number): number {
    const score = timeScore(sec, ticks * tickSec, this.#restSec);
    this.scores[row * this.#width + ticks] = score;
    this.ahead[row * this.#width + ticks] = aheadAfter(sec, ticks * tickSec, this.#restSec);
    if (score > this.peak[row]) this.peak[row] = score;
    return score;
  }
}

/** State of a clock that is not ahead of the last onset. */
export const NOT_AHEAD = MOST_AHEAD;

export function aheadSec(state: number): number {
  return (state - MOST_AHEAD) * AHEAD_STEP_SEC;
}

/**
 * How far the clock is ahead of an onset. An early onset is mostly jitter, and the clock stays behind it. At rests and after
 * slips the clock starts afresh.
 * @param sec  from the clock at the onset before
 */
function aheadAfter(sec: number, expectedSec: number, restSec: number): number {
  if (restSec > 0) return MOST_AHEAD;
  const late = sec - expectedSec;
  const share = JITTER_SHARE * expectedSec;
  const known = CLOCK_SHARE * JITTER_SEC * JITTER_SEC + share * share;
  const all = known + JITTER_SEC * JITTER_SEC;
  if (late * late > FOLLOWED_SPREADS * FOLLOWED_SPREADS * all) return MOST_AHEAD;
  const state = Math.round((-late * (1 - known / all)) / AHEAD_STEP_SEC);
  return MOST_AHEAD + Math.max(-MOST_AHEAD, Math.min(MOST_AHEAD, state));
}

const SLIP_DENSITY = Math.exp(SLIP);

/** For each note, whether the clock may have stopped before it: at a rest, or while a long note was held. */
export function clockMayStand(
  onsets: readonly { readonly onsetSec: number; readonly restSec: number }[],
): boolean[] {
  const steps = onsets.slice(1).map(({ onsetSec }, i) => onsetSec - onsets[i].onsetSec);
  const longSec = Math.max(HELD.fromSec, HELD.fromSteps * (steps.length > 0 ? median(steps) : 0));
  return onsets.map(({ restSec }, i) => i > 0 && (restSec > 0 || steps[i - 1] >= longSec));
}

/** Log density of the time from the clock at one onset to the next onset, given the time that the score expects and how much of it is rest. */
export function timeScore(sec: number, expectedSec: number, restSec: number): number {
  const share = JITTER_SHARE * expectedSec;
  const spread = Math.sqrt((1 + CLOCK_SHARE) * JITTER_SEC * JITTER_SEC + share * share);
  return restSec > 0
    ? scoreOverRest(sec, expectedSec, restSec, spread)
    : scoreOfSound(sec, expectedSec, spread);
}

function scoreOfSound(sec: number, expectedSec: number, spread: number): number {
  const late = sec - expectedSec;
  const held = heldDensity(late, expectedSec);
  if (Math.abs(late) > FARTHEST_SPREADS * spread) return held === 0 ? SLIP : Math.log(held + SLIP_DENSITY);
  return Math.log(jitterDensity(Math.abs(late) / spread) / spread + held + SLIP_DENSITY);
}

function scoreOverRest(sec: number, expectedSec: number, restSec: number, spread: number): number {
  const late = sec - expectedSec;
  const kept = jitterDensity(Math.abs(late) / spread) / spread;
  // The clock stops for no longer than the rest: the note itself is never longer than written.
  if (late > restSec + spread) return SLIP;
  const moved =
    late >= 0
      ? (REST.stretched * Math.exp(-late / REST.stretchSec)) / REST.stretchSec +
        (REST.waited * Math.exp(-late / REST.waitSec)) / REST.waitSec
      : (REST.cut * Math.exp(late / REST.cutSec)) / REST.cutSec;
  const sounded = restSec <= SOUNDED.breathSec ? soundedScore(sec - restSec, expectedSec) : 0;
  return Math.log(REST.kept * kept + moved + SLIP_DENSITY) + sounded;
}

/** Densities of onsets by deviation, in steps of `1 / JITTER_STEPS` spreads: a table, as they are needed most often. */
const JITTER_STEPS = 256;
const JITTER_DENSITIES = Float64Array.from({ length: FARTHEST_SPREADS * JITTER_STEPS + 1 }, (_, i) => {
  const away = (i / JITTER_STEPS) ** 2;
  const usual = (1 - LOOSE_SHARE) * Math.exp(-0.5 * away);
  const loose = (LOOSE_SHARE / LOOSE_SPREADS) * Math.exp((-0.5 * away) / (LOOSE_SPREADS * LOOSE_SPREADS));
  return (usual + loose) / Math.sqrt(2 * Math.PI);
});

function jitterDensity(spreads: number): number {
  return JITTER_DENSITIES[Math.min(FARTHEST_SPREADS * JITTER_STEPS, Math.round(spreads * JITTER_STEPS))];
}

/** Density of a note being held this long beyond its time. */
function heldDensity(lateSec: number, expectedSec: number): number {
  if (lateSec <= 0 || lateSec >= HELD.mostSec || expectedSec < HELD.fromSec) return 0;
  return (HELD.share * Math.exp(-lateSec / HELD.sec)) / HELD.sec;
}

/** Log density of how long the note before a rest sounded, given the time to the next note in the score. */
function soundedScore(soundedSec: number, expectedSec: number): number {
  const away = (soundedSec / expectedSec - SOUNDED.share) / SOUNDED.spread;
  const full = Math.exp(-0.5 * away * away) / (SOUNDED.spread * Math.sqrt(2 * Math.PI));
  return SOUNDED.weight * Math.log(((1 - SOUNDED.rests) * full + SOUNDED.rests) / expectedSec);
}
