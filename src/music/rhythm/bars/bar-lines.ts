import { median } from '../../../statistics.ts';
import { LEVELS, placeLevels, SURE_BREAK } from '../accents.ts';
import type { BarSteps } from '../bar-steps.ts';
import { type BarPlan, TICKS_PER_BEAT } from '../metre.ts';
import { clockSec, type HeardOnset, type MetricalPath, type PlanPrior } from '../metrical-hmm.ts';
import { findParallels, parallelScore } from '../parallels.ts';
import { mayBeReread } from '../rereading.ts';
import { type TempoOptions, tempoScoreOfPath } from '../tempo.ts';
import { LONGEST_TICKS, NO_SLIP, SLIP, timeScore } from '../time-scores.ts';
import { type Joined, type Link, OTHER_START, RunJoiner, SAME_START } from './join-runs.ts';

/** How far the length of a rest may be changed from what was read before bar lines were placed. */
const REST_SLACK_TICKS = 2 * TICKS_PER_BEAT;
/**
 * How often phrases begin on the bar line, within the last pulse of the bar before, or elsewhere: shares in the folk songs,
 * rounded in favour of the bar line, where most fiddle tunes begin.
 */
const HOME_SHARE = { bar: 0.45, upbeat: 0.2, elsewhere: 0.03 };
/** Phrases are taken to begin on multiples of an eighth. */
const HOME_GRID_TICKS = TICKS_PER_BEAT / 2;
/** Weight of the accents; with more or less, fewer downbeats were right. */
const ACCENT_WEIGHT = 1;

export interface PickupOptions {
  /** Length of the pick-up in ticks; null to search for it. */
  readonly pickupTicks: number | null;
  /** Position of a note that is known to begin a bar; null for none. */
  readonly downbeatNote: number | null;
}

/** What bar lines are placed by. */
export interface HeardNotes {
  readonly onsets: readonly HeardOnset[];
  /** `levelAccents` of the notes. */
  readonly accents: Float64Array;
  /** How strongly the tune breaks off before each note (`breakStrengths`). */
  readonly strengths: Float64Array;
}

/** A row of onsets with its bar lines. */
export interface BarredPath {
  readonly plan: BarPlan;
  /** For each note, ticks from the first bar line at or before the first note. */
  readonly atTicks: readonly number[];
  /** Natural log of prior times likelihood; comparable between plans. */
  readonly score: number;
}

/**
 * Places bar lines among notes whose lengths have been read. Of all plans and all places of the first note it takes the
 * likeliest, judged by where notes begin, by what falls on strong places (`levelAccents`) and by phrases that begin alike
 * (parallelism: Temperley & Bartlette, Music Perception 20(2), 117-149, 2002). Only rests may change their length.
 * @returns the likeliest path for every plan and place of the first note; none when the notes fit no plan
 */
export function placeBars(
  heard: HeardNotes,
  path: MetricalPath,
  plans: readonly PlanPrior[],
  pitches: readonly number[],
  options: TempoOptions & PickupOptions,
): BarredPath[] {
  const { onsets, strengths } = heard;
  const runs = [0, ...mayBeReread(onsets, path).flatMap((may, n) => (may ? [n] : [])), onsets.length];
  const links = runs
    .slice(1, -1)
    .map((to) => linkTo(to, onsets, path, Math.min(1, strengths[to] / SURE_BREAK)));
  const joiner = new RunJoiner(plans, links);
  const steps = path.atTicks.map((at, n) =>
    n === 0 || onsets[n].restSec > 0 ? null : at - path.atTicks[n - 1],
  );
  const parallels = findParallels(pitches, steps);
  const unbroken = steps.filter((step) => step !== null);
  const usualTicks = unbroken.length > 0 ? median(unbroken) : TICKS_PER_BEAT;
  return plans.flatMap(({ plan, steps: fromPlaces, logPrior }) => {
    const prior = logPrior + tempoScoreOfPath(path.beatSec, plan, options);
    const placer = new BarPlacer(heard, path, plan, fromPlaces, options);
    return placer.place(runs, joiner).map((barred) => ({
      ...barred,
      score: barred.score + prior + parallelScore(parallels, barred.atTicks, plan, usualTicks),
    }));
  });
}

/** Log density of the time before note `to`, for every length near the one that was read. */
function linkTo(to: number, onsets: readonly HeardOnset[], path: MetricalPath, begins: number): Link {
  const { atTicks, beatSec } = path;
  const { restSec } = onsets[to];
  const sec = clockSec(onsets, path, to);
  const read = atTicks[to] - atTicks[to - 1];
  const fewest = Math.max(1, read - REST_SLACK_TICKS);
  const most = Math.min(LONGEST_TICKS, read + REST_SLACK_TICKS);
  const scores: number[] = [];
  for (let ticks = fewest; ticks <= most; ticks++) {
    const score = timeScore(sec, (ticks / TICKS_PER_BEAT) * beatSec[to], restSec);
    // Better bars never justify a length that can't have been played, unless it was read that way.
    scores.push(score > SLIP + NO_SLIP || ticks === read ? score : Number.NEGATIVE_INFINITY);
  }
  const first = scores.findIndex((score) => score > Number.NEGATIVE_INFINITY);
  const last = scores.findLastIndex((score) => score > Number.NEGATIVE_INFINITY);
  return { fewest: fewest + first, scores: Float64Array.from(scores.slice(first, last + 1)), begins };
}

class BarPlacer {
  readonly #accents: Float64Array;
  readonly #path: MetricalPath;
  readonly #plan: BarPlan;
  readonly #steps: BarSteps;
  readonly #levels: Uint8Array;
  /** Where the first note must be; anywhere when null. */
  readonly #firstTick: number | null;
  readonly #downbeatNote: number | null;

  constructor(
    { accents }: HeardNotes,
    path: MetricalPath,
    plan: BarPlan,
    steps: BarSteps,
    { pickupTicks, downbeatNote }: PickupOptions,
  ) {
    this.#firstTick = pickupTicks === null ? null : (plan.barTicks - pickupTicks) % plan.barTicks;
    this.#downbeatNote = downbeatNote;
    this.#accents = accents;
    this.#path = path;
    this.#plan = plan;
    this.#steps = steps;
    this.#levels = placeLevels(plan);
  }

  /** The likeliest path for every place of the first note, with phrases beginning there or on the bar line. */
  place(runs: readonly number[], joiner: RunJoiner): BarredPath[] {
    const width = this.#plan.places.length;
    joiner.score.fill(Number.NEGATIVE_INFINITY);
    this.#runAll(runs, joiner.score, joiner.end);
    const firsts = Array.from({ length: width }, (_, place) => place).filter((p) => this.#mayBegin(p));
    const homes = [0, ...firsts.filter((first) => first > 0)];
    const joined = joiner.join(width, this.#steps, homes);
    return firsts.flatMap((first) => {
      const phrases = first === 0 ? [0] : [first, 0];
      return phrases.flatMap((home) => this.#from(first, home, joined, runs));
    });
  }

  #mayBegin(place: number): boolean {
    const tick = this.#plan.places[place];
    return this.#firstTick === null ? tick % HOME_GRID_TICKS === 0 : tick === this.#firstTick;
  }

  #runAll(runs: readonly number[], score: Float64Array, end: Int16Array): void {
    const width = this.#plan.places.length;
    for (let r = 0; r + 1 < runs.length; r++) {
      for (let p = 0; p < width; p++) this.#run(runs[r], runs[r + 1], p, score, end, r * width + p);
    }
  }

  /** Writes the score of a run of notes that begins at a place, and the place of its last note; neither if it can't begin there. */
  #run(from: number, to: number, place: number, score: Float64Array, end: Int16Array, at: number): void {
    const { atTicks } = this.#path;
    let sum = this.#accent(from, place);
    let p = place;
    if (this.#isOff(from, p)) return;
    for (let n = from + 1; n < to; n++) {
      const step = this.#stepOf(p, atTicks[n] - atTicks[n - 1]);
      if (step < 0) return;
      p = this.#steps.place[step];
      if (this.#isOff(n, p)) return;
      sum += this.#steps.logProb[step] + this.#accent(n, p);
    }
    score[at] = sum;
    end[at] = p;
  }

  /** True if this note is known to begin a bar but does not at this place. */
  #isOff(note: number, place: number): boolean {
    return note === this.#downbeatNote && place !== 0;
  }

  #accent(note: number, place: number): number {
    return ACCENT_WEIGHT * this.#accents[note * LEVELS + this.#levels[place]];
  }

  /** Index of the step of `ticks` in the row of a place; -1 if no note may begin there. */
  #stepOf(place: number, ticks: number): number {
    const step = this.#steps.atLeast[place * (LONGEST_TICKS + 1) + ticks];
    return step < this.#steps.begin[place + 1] && this.#steps.ticks[step] === ticks ? step : -1;
  }

  /** The path that begins at one place, with phrases beginning at another; empty if there is none. */
  #from(first: number, home: number, { homes, score, step }: Joined, runs: readonly number[]): BarredPath[] {
    const h = homes.indexOf(home);
    const reached = score[first * homes.length + h];
    if (reached === Number.NEGATIVE_INFINITY) return [];
    const { places } = this.#plan;
    const { ticks, place } = this.#steps;
    const { atTicks } = this.#path;
    const placed = new Array<number>(atTicks.length);
    let p = first;
    for (let r = 0, shift = places[first] - atTicks[0]; r < runs.length - 1; r++) {
      for (let n = runs[r]; n < runs[r + 1]; n++) placed[n] = atTicks[n] + shift;
      if (r === runs.length - 2) break;
      const taken = step[(r * places.length + p) * homes.length + h];
      p = place[taken];
      shift = placed[runs[r + 1] - 1] + ticks[taken] - atTicks[runs[r + 1]];
    }
    const begun = Math.log(this.#homeShare(home)) + (first === home ? SAME_START : OTHER_START);
    return [{ plan: this.#plan, atTicks: placed, score: reached + begun }];
  }

  #homeShare(home: number): number {
    const { places, barTicks, pulseTicks } = this.#plan;
    const tick = places[home];
    if (tick === 0) return HOME_SHARE.bar;
    return tick >= barTicks - Math.min(pulseTicks, TICKS_PER_BEAT) ? HOME_SHARE.upbeat : HOME_SHARE.elsewhere;
  }
}
