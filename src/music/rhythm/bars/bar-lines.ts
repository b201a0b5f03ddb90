import { median } from '../../../statistics.ts';
import { LEVELS, placeLevels, SURE_BREAK } from '../accents.ts';
import type { BarSteps } from '../bar-steps.ts';
import { type BarPlan, TICKS_PER_BEAT } from '../metre.ts';
import { clockSec, type HeardOnset, type MetricalPath, type PlanPrior } from '../metrical-hmm.ts';
import { findParallels, parallelScore } from '../parallels.ts';
import { mayBeReread } from '../rereading.ts';
import { type TempoOptions, tempoScoreOfPath } from '../tempo.ts';
import { LONGEST_TICKS, NO_SLIP, SLIP, timeScore } from '../time-scores.ts';

/** A rest may be read as longer or shorter by this than where the notes were read. */
const REST_SLACK_TICKS = 2 * TICKS_PER_BEAT;
/**
 * Phrases begin at the same place of the bar as the others of their tune: in natural log, what it adds when one does
 * and costs when it does not. 85 to 93 % do in the folk songs that the profiles of onsets were counted in.
 */
const SAME_START = 1.2;
const OTHER_START = -1.2;
/**
 * Where phrases begin: on the bar line, inside the last pulse of the bar before, or elsewhere; shares of the folk songs,
 * rounded towards the bar line, on which fiddle tunes mostly begin.
 */
const HOME_SHARE = { bar: 0.45, upbeat: 0.2, elsewhere: 0.03 };
/** Phrases are at home on an eighth. */
const HOME_GRID_TICKS = TICKS_PER_BEAT / 2;
/** How much the accents count; more or less had fewer downbeats right. */
const ACCENT_WEIGHT = 1;

export interface PickupOptions {
  /** Length of the pick-up that is given, in ticks; searched for when null. */
  readonly pickupTicks: number | null;
  /** Position of a note that a bar is known to begin with; null for none. */
  readonly downbeatNote: number | null;
}

/** Notes as bars are put to them. */
export interface HeardNotes {
  readonly onsets: readonly HeardOnset[];
  /** `levelAccents` of the notes. */
  readonly accents: Float64Array;
  /** How strongly the tune breaks off before each note (`breakStrengths`). */
  readonly strengths: Float64Array;
}

/** A row of onsets with bar lines. */
export interface BarredPath {
  readonly plan: BarPlan;
  /** For each note, ticks from the first bar line at or before the first note. */
  readonly atTicks: readonly number[];
  /** Natural log of prior times likelihood; comparable between plans. */
  readonly score: number;
}

/**
 * Puts bar lines to notes whose lengths have been read: of all plans and all places of the first note the likeliest,
 * judged by where notes begin, by what goes on strong places (`levelAccents`) and by phrases that begin alike
 * (parallelism: Temperley & Bartlette, Music Perception 20(2), 117-149, 2002). Only rests may change their length.
 * @returns for every plan and place of the first note the likeliest; none when the notes go on no plan
 */
export function placeBars(
  heard: HeardNotes,
  path: MetricalPath,
  plans: readonly PlanPrior[],
  pitches: readonly number[],
  options: TempoOptions & PickupOptions,
): BarredPath[] {
  const { onsets } = heard;
  const runs = [0, ...mayBeReread(onsets, path).flatMap((may, n) => (may ? [n] : [])), onsets.length];
  const steps = path.atTicks.map((at, n) =>
    n === 0 || onsets[n].restSec > 0 ? null : at - path.atTicks[n - 1],
  );
  const parallels = findParallels(pitches, steps);
  const unbroken = steps.filter((step) => step !== null);
  const usualTicks = unbroken.length > 0 ? median(unbroken) : TICKS_PER_BEAT;
  return plans.flatMap(({ plan, steps: fromPlaces, logPrior }) => {
    const prior = logPrior + tempoScoreOfPath(path.beatSec, plan, options);
    const placer = new BarPlacer(heard, path, plan, fromPlaces, options);
    return placer.place(runs).map((barred) => ({
      ...barred,
      score: barred.score + prior + parallelScore(parallels, barred.atTicks, plan, usualTicks),
    }));
  });
}

/** The lengths that a rest may have, from the fewest ticks on, with the log density of each. */
interface Link {
  readonly fewest: number;
  readonly scores: Float64Array;
}

/** For every run and place at which it begins, the score from there on to the end and the step that leads on. */
interface Joined {
  /** Where phrases begin. */
  readonly home: number;
  readonly score: Float64Array;
  readonly step: Int32Array;
}

class BarPlacer {
  readonly #onsets: readonly HeardOnset[];
  readonly #accents: Float64Array;
  readonly #strengths: Float64Array;
  readonly #path: MetricalPath;
  readonly #plan: BarPlan;
  readonly #steps: BarSteps;
  readonly #levels: Uint8Array;
  /** Where the first note must be; anywhere when null. */
  readonly #firstTick: number | null;
  readonly #downbeatNote: number | null;

  constructor(
    { onsets, accents, strengths }: HeardNotes,
    path: MetricalPath,
    plan: BarPlan,
    steps: BarSteps,
    { pickupTicks, downbeatNote }: PickupOptions,
  ) {
    this.#firstTick = pickupTicks === null ? null : (plan.barTicks - pickupTicks) % plan.barTicks;
    this.#downbeatNote = downbeatNote;
    this.#onsets = onsets;
    this.#accents = accents;
    this.#strengths = strengths;
    this.#path = path;
    this.#plan = plan;
    this.#steps = steps;
    this.#levels = placeLevels(plan);
  }

  /** The likeliest for every place at which the first note may be, phrases being at home there or on the bar line. */
  place(runs: readonly number[]): BarredPath[] {
    const width = this.#plan.places.length;
    const count = runs.length - 1;
    const score = new Float64Array(count * width);
    const end = new Int16Array(count * width);
    for (let r = 0; r < count; r++) {
      for (let p = 0; p < width; p++) this.#run(runs[r], runs[r + 1], p, score, end, r * width + p);
    }
    const links = Array.from({ length: count - 1 }, (_, r) => this.#links(runs[r + 1]));
    const placed: BarredPath[] = [];
    const onBar = this.#join(runs, score, end, links, 0);
    for (let first = 0; first < width; first++) {
      if (!this.#mayBegin(first)) continue;
      const homes = first === 0 ? [onBar] : [this.#join(runs, score, end, links, first), onBar];
      for (const joined of homes) {
        const found = this.#from(first, joined, runs);
        if (found !== null) placed.push(found);
      }
    }
    return placed;
  }

  #mayBegin(place: number): boolean {
    const tick = this.#plan.places[place];
    return this.#firstTick === null ? tick % HOME_GRID_TICKS === 0 : tick === this.#firstTick;
  }

  /** Score of a run of notes from a place on, and the place of its last note. */
  #run(from: number, to: number, place: number, score: Float64Array, end: Int16Array, at: number): void {
    const { atTicks } = this.#path;
    let sum = this.#accent(from, place);
    let p = place;
    const isOff = (n: number) => n === this.#downbeatNote && this.#plan.places[p] !== 0;
    if (isOff(from)) {
      score[at] = Number.NEGATIVE_INFINITY;
      return;
    }
    for (let n = from + 1; n < to; n++) {
      const step = this.#stepOf(p, atTicks[n] - atTicks[n - 1]);
      if (step >= 0) p = this.#steps.place[step];
      if (step < 0 || isOff(n)) {
        score[at] = Number.NEGATIVE_INFINITY;
        return;
      }
      sum += this.#steps.logProb[step] + this.#accent(n, p);
    }
    score[at] = sum;
    end[at] = p;
  }

  #accent(note: number, place: number): number {
    return ACCENT_WEIGHT * this.#accents[note * LEVELS + this.#levels[place]];
  }

  /** Position of the step of so many ticks in the row of a place; -1 when no note may begin there. */
  #stepOf(place: number, ticks: number): number {
    const step = this.#steps.atLeast[place * (LONGEST_TICKS + 1) + ticks];
    return step < this.#steps.begin[place + 1] && this.#steps.ticks[step] === ticks ? step : -1;
  }

  /** Log density of the time over a rest to the note `to`, for every length near the one that was read. */
  #links(to: number): Link {
    const { atTicks, beatSec } = this.#path;
    const { restSec } = this.#onsets[to];
    const sec = clockSec(this.#onsets, this.#path, to);
    const read = atTicks[to] - atTicks[to - 1];
    const fewest = Math.max(1, read - REST_SLACK_TICKS);
    const most = Math.min(LONGEST_TICKS, read + REST_SLACK_TICKS);
    const scores: number[] = [];
    for (let ticks = fewest; ticks <= most; ticks++) {
      const score = timeScore(sec, (ticks / TICKS_PER_BEAT) * beatSec[to], restSec);
      // Bars are no reason to write what can't have been played, unless it was read so.
      scores.push(score > SLIP + NO_SLIP || ticks === read ? score : Number.NEGATIVE_INFINITY);
    }
    const first = scores.findIndex((score) => score > Number.NEGATIVE_INFINITY);
    const last = scores.findLastIndex((score) => score > Number.NEGATIVE_INFINITY);
    return { fewest: fewest + first, scores: Float64Array.from(scores.slice(first, last + 1)) };
  }

  /** The likeliest ways on to the end, from every place at which a run may begin, when phrases are at home at a place. */
  #join(
    runs: readonly number[],
    runScore: Float64Array,
    runEnd: Int16Array,
    links: readonly Link[],
    home: number,
  ): Joined {
    const width = this.#plan.places.length;
    const count = runs.length - 1;
    const { begin, ticks, place, logProbRest, atLeast } = this.#steps;
    const score = Float64Array.from(runScore);
    const step = new Int32Array(count * width);
    for (let r = count - 2; r >= 0; r--) {
      const { fewest, scores } = links[r];
      const most = fewest + scores.length;
      const begins = Math.min(1, this.#strengths[runs[r + 1]] / SURE_BREAK);
      const next = (r + 1) * width;
      for (let p = 0; p < width; p++) {
        const at = r * width + p;
        if (score[at] === Number.NEGATIVE_INFINITY) continue;
        const end = runEnd[at];
        let best = Number.NEGATIVE_INFINITY;
        for (let a = atLeast[end * (LONGEST_TICKS + 1) + fewest]; a < begin[end + 1]; a++) {
          if (ticks[a] >= most) break;
          const gained =
            logProbRest[a] +
            scores[ticks[a] - fewest] +
            score[next + place[a]] +
            begins * (place[a] === home ? SAME_START : OTHER_START);
          if (gained <= best) continue;
          best = gained;
          step[at] = a;
        }
        score[at] += best;
      }
    }
    return { home, score, step };
  }

  /** The way that begins at a place; null when there is none. */
  #from(first: number, { home, score, step }: Joined, runs: readonly number[]): BarredPath | null {
    if (score[first] === Number.NEGATIVE_INFINITY) return null;
    const width = this.#plan.places.length;
    const { ticks, place } = this.#steps;
    const rests = new Map<number, number>();
    let state = first;
    for (let r = 0; r < runs.length - 2; r++) {
      rests.set(runs[r + 1], ticks[step[state]]);
      state = (r + 1) * width + place[step[state]];
    }
    const begun = Math.log(this.#homeShare(home)) + (first === home ? SAME_START : OTHER_START);
    return { plan: this.#plan, atTicks: this.#ticksOf(first, rests), score: score[first] + begun };
  }

  #homeShare(home: number): number {
    const { places, barTicks, pulseTicks } = this.#plan;
    const tick = places[home];
    if (tick === 0) return HOME_SHARE.bar;
    return tick >= barTicks - Math.min(pulseTicks, TICKS_PER_BEAT) ? HOME_SHARE.upbeat : HOME_SHARE.elsewhere;
  }

  #ticksOf(first: number, rests: ReadonlyMap<number, number>): number[] {
    const { atTicks } = this.#path;
    const placed = [this.#plan.places[first]];
    for (let n = 1; n < atTicks.length; n++) {
      placed.push(placed[n - 1] + (rests.get(n) ?? atTicks[n] - atTicks[n - 1]));
    }
    return placed;
  }
}
