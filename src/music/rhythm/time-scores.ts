import { median } from '../../statistics.ts';
import { TICKS_PER_BEAT } from './metre.ts';

/** Spread of the time from onset to onset: a fixed part (both onsets), and a share of the time (loose tempo). */
const JITTER_SEC = 0.022;
const JITTER_SHARE = 0.035;
/** Log density of a time that fits nowhere (a slip), per second. */
export const SLIP = -9;
/** Times further off than this many spreads are slips: the rest of the normal curve is under a hundredth of one. */
const FARTHEST_SPREADS = 6;
/** Times so far above a slip, in natural log, that slips need not be tried beside them. */
export const NO_SLIP = 0.5;
/**
 * So many times are off by more than usual, and by so many spreads: of the times in 78 transcribed development takes
 * half are within 9 ms of what was played and 2 % off by more than 50 ms, which no single normal curve fits.
 */
const LOOSE_SHARE = 0.05;
const LOOSE_SPREADS = 2.5;
/** Longest time between two onsets, in ticks. */
export const LONGEST_TICKS = 12 * TICKS_PER_BEAT;
/** A rest may be kept in time, stretched for breath, or cut short: shares, and how far in seconds. */
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
 * A long note may be held beyond its time without a breath (a fermata; in a room the breath after it is often not heard): how
 * often, and how far on average and at most, notes so long as a time and against the usual step. Of shares of 0, 2 and 5 % and
 * lengths from 0.5 to 0.9 s those with the most downbeats right where pauses are filled, at no loss elsewhere
 * (tests/bench/music/bars.ts).
 */
const HELD = { share: 0.03, sec: 0.4, mostSec: 0.8, fromSec: 0.5, fromSteps: 1.6 };
/**
 * Share of its written length that a note before a rest sounds, and its spread (as in note-values.ts); so many have a written
 * rest after them and may sound any share. It counts half (of 0, 0.5 and 1 the best on tunes left out of every fit), and only
 * where the gap is no longer than a breath: a longer one is a rest of the tune or talk.
 */
const SOUNDED = { share: 0.85, spread: 0.13, rests: 0.25, weight: 0.5, breathSec: 1 };

/**
 * Log densities of one time between two onsets, for every tempo and distance in ticks. A tempo's row is worked out when
 * it is first asked for, and only where the time is no mere slip, so that all bar plans can share it at little cost.
 */
export class TimeScores {
  readonly #beatSec: readonly number[];
  readonly #width = LONGEST_TICKS + 1;
  /** Row of a tempo at `tempo * width`, place in the row: ticks; right where `fewest` to `most` say. */
  readonly scores: Float64Array;
  readonly fewest: Int16Array;
  readonly most: Int16Array;
  /** Within these the time is no mere slip; `likelyFewest` is past `likelyMost` when it is one everywhere. */
  readonly likelyFewest: Int16Array;
  readonly likelyMost: Int16Array;
  /** Best score of each tempo. */
  readonly peak: Float64Array;
  readonly #known: Uint8Array;
  #sec = 0;
  #restSec = 0;

  /** @param beatSec  seconds a beat of each tempo */
  constructor(beatSec: readonly number[]) {
    this.#beatSec = beatSec;
    this.scores = new Float64Array(beatSec.length * this.#width);
    this.fewest = new Int16Array(beatSec.length);
    this.most = new Int16Array(beatSec.length);
    this.likelyFewest = new Int16Array(beatSec.length);
    this.likelyMost = new Int16Array(beatSec.length);
    this.peak = new Float64Array(beatSec.length);
    this.#known = new Uint8Array(beatSec.length);
  }

  /** Goes on to the next pair of onsets: the time between them, and how much of it is rest. */
  begin(sec: number, restSec: number): void {
    this.#sec = sec;
    this.#restSec = restSec;
    this.#known.fill(0);
  }

  /** True when the time holds a rest. */
  get rests(): boolean {
    return this.#restSec > 0;
  }

  /** Makes the row of a tempo ready. */
  know(tempo: number): void {
    if (this.#known[tempo] === 1) return;
    this.#known[tempo] = 1;
    const tickSec = this.#beatSec[tempo] / TICKS_PER_BEAT;
    const row = tempo * this.#width;
    const nearest = Math.min(LONGEST_TICKS, Math.max(1, Math.round(this.#sec / tickSec)));
    this.peak[tempo] = SLIP;
    let fewest = nearest + 1;
    let most = nearest;
    // Scores fall on either side of the nearest distance.
    while (fewest > 1 && this.#score(tempo, fewest - 1, tickSec) > SLIP + NO_SLIP) fewest--;
    while (most < LONGEST_TICKS && this.#score(tempo, most + 1, tickSec) > SLIP + NO_SLIP) most++;
    this.likelyFewest[tempo] = fewest;
    this.likelyMost[tempo] = most;
    if (fewest > most) {
      this.scores.fill(SLIP, row, row + this.#width);
      this.fewest[tempo] = 1;
      this.most[tempo] = LONGEST_TICKS;
      return;
    }
    // A beat more on either side, so that from every place some other one is in reach.
    this.fewest[tempo] = Math.max(1, fewest - TICKS_PER_BEAT);
    this.most[tempo] = Math.min(LONGEST_TICKS, most + TICKS_PER_BEAT);
    this.scores.fill(SLIP, row + this.fewest[tempo], row + fewest);
    this.scores.fill(SLIP, row + most + 1, row + this.most[tempo] + 1);
  }

  #score(tempo: number, ticks: number, tickSec: number): number {
    const score = timeScore(this.#sec, ticks * tickSec, this.#restSec);
    this.scores[tempo * this.#width + ticks] = score;
    if (score > this.peak[tempo]) this.peak[tempo] = score;
    return score;
  }
}

const SLIP_DENSITY = Math.exp(SLIP);

/** For each note, true where the clock may have stood still before it: at a rest, or while a long note was held. */
export function clockMayStand(
  onsets: readonly { readonly onsetSec: number; readonly restSec: number }[],
): boolean[] {
  const steps = onsets.slice(1).map(({ onsetSec }, i) => onsetSec - onsets[i].onsetSec);
  const longSec = Math.max(HELD.fromSec, HELD.fromSteps * (steps.length > 0 ? median(steps) : 0));
  return onsets.map(({ restSec }, i) => i > 0 && (restSec > 0 || steps[i - 1] >= longSec));
}

/** Log density of a time between onsets, given what the score says it should be and how much of it is rest. */
export function timeScore(sec: number, expectedSec: number, restSec: number): number {
  const share = JITTER_SHARE * expectedSec;
  const spread = Math.sqrt(JITTER_SEC * JITTER_SEC + share * share);
  const late = sec - expectedSec;
  const held = restSec === 0 ? heldDensity(late, expectedSec) : 0;
  if (restSec === 0 && Math.abs(late) > FARTHEST_SPREADS * spread) {
    return held === 0 ? SLIP : Math.log(held + SLIP_DENSITY);
  }
  const away = late / spread;
  const kept =
    ((1 - LOOSE_SHARE) * Math.exp(-0.5 * away * away) +
      (LOOSE_SHARE / LOOSE_SPREADS) * Math.exp((-0.5 * away * away) / (LOOSE_SPREADS * LOOSE_SPREADS))) /
    (spread * Math.sqrt(2 * Math.PI));
  if (restSec === 0) return Math.log(kept + held + SLIP_DENSITY);
  // The clock stands still no longer than the rest: the note itself is never longer than written.
  if (late > restSec + spread) return SLIP;
  const moved =
    late >= 0
      ? (REST.stretched * Math.exp(-late / REST.stretchSec)) / REST.stretchSec +
        (REST.waited * Math.exp(-late / REST.waitSec)) / REST.waitSec
      : (REST.cut * Math.exp(late / REST.cutSec)) / REST.cutSec;
  const sounded = restSec <= SOUNDED.breathSec ? soundedScore(sec - restSec, expectedSec) : 0;
  return Math.log(REST.kept * kept + moved + SLIP_DENSITY) + sounded;
}

/** Density of a note's being held on so long beyond its time. */
function heldDensity(lateSec: number, expectedSec: number): number {
  if (lateSec <= 0 || lateSec >= HELD.mostSec || expectedSec < HELD.fromSec) return 0;
  return (HELD.share * Math.exp(-lateSec / HELD.sec)) / HELD.sec;
}

/** Log density of how long the note before a rest sounded, given the time to the next note that the score says. */
function soundedScore(soundedSec: number, expectedSec: number): number {
  const away = (soundedSec / expectedSec - SOUNDED.share) / SOUNDED.spread;
  const full = Math.exp(-0.5 * away * away) / (SOUNDED.spread * Math.sqrt(2 * Math.PI));
  return SOUNDED.weight * Math.log(((1 - SOUNDED.rests) * full + SOUNDED.rests) / expectedSec);
}
