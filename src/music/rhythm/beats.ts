import { median } from '../../statistics.ts';
import type { AccentedNote } from './accents.ts';
import { barSteps } from './bar-steps.ts';
import { findWays } from './bars/ways.ts';
import { type BarredReading, safestWay } from './confidence.ts';
import { type BarPlan, isCompound, type Metre, planBar, TICKS_PER_BEAT } from './metre.ts';
import type { HeardOnset, MetricalPath, PlanPrior } from './metrical-hmm.ts';
import { writtenLengths } from './note-values.ts';
import { type OnsetProfile, PROFILES } from './onset-shares.ts';
import { meanTempo, type Reading } from './pulses.ts';
import { LONGEST_TICKS } from './time-scores.ts';

/** A note on the grid, with its written length. */
interface PlacedNote {
  /** From the first bar line at or before the first note, ≥ 0. */
  readonly atTicks: number;
  /** > 0; ends no later than the next note begins. */
  readonly lengthTicks: number;
}

/** The beat grid of a take; a beat is a quarter note. */
export interface Beats {
  readonly ticksPerBeat: typeof TICKS_PER_BEAT;
  /** Quarter notes a minute over the whole take; in free time, the tempo at which lengths are written. */
  readonly tempoBpm: number;
  /** Null in free time: no bars. */
  readonly metre: Metre | null;
  /** Length of the pick-up before the first full bar, in ticks; 0 when there is none. */
  readonly pickupTicks: number;
  /** Pairs of eighths are played long-short (two thirds, one third) throughout; lengths stay as played. */
  readonly swing: boolean;
  /** [0, 1]: the share of bar lines expected to be right (`safestWay`). 0 in free time. */
  readonly confidence: number;
  /** Time of each beat in seconds, from tick 0 to past the last note; empty in free time. */
  readonly gridSec: readonly number[];
  /** One for each note of the take. */
  readonly notes: readonly PlacedNote[];
}

export interface BeatOptions {
  /** Tempo in quarter notes a minute, when known. */
  readonly tempoBpm?: number;
  readonly metre?: Metre;
  /** Length of the pick-up before the first full bar, in ticks; 0 for none. */
  readonly pickupTicks?: number;
  /** The note nearest to this time begins a bar. */
  readonly downbeatSec?: number;
  /** Free time: no bars at all. */
  readonly free?: boolean;
}

interface Timed {
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** Pitch as a MIDI number; with it, bar lines are found more reliably. */
  readonly midi?: number;
}

/** A gap this long before a note counts as a rest, in which the player may breathe. */
const REST_SEC = 0.13;
/**
 * How common a shuffle is compared with straight playing of mixed values (set by hand [no source]). Even, because long-short
 * pairs also make a jig, and the counted tunes have more jigs than harmonica players play.
 */
const SWUNG_ODDS = 1;

/**
 * Tempo, metre and note values of a take: a metrical hidden Markov model reads the onsets on the common metres
 * (`readOnGrids`), then bar lines are placed (`placeBars`), which also settles the choice between a pulse and its double.
 * Equal long notes, and triplets in doubtful bars, are taken for free time unless metre or tempo is given.
 * @param notes  in time order; none gives an empty grid in free time
 */
export function findBeats(notes: readonly Timed[], options: BeatOptions = {}): Beats {
  if (notes.length === 0 || options.free) return freeTime(notes, options);
  const rested = restedNotes(notes);
  const onsets = rested.map(({ onsetSec, restSec }): HeardOnset => ({ onsetSec, restSec }));
  const candidates = plansOf(options);
  const given = {
    tempoBpm: options.tempoBpm ?? null,
    pickupTicks: options.pickupTicks ?? null,
    downbeatNote: options.downbeatSec === undefined ? null : nearestNote(notes, options.downbeatSec),
  };
  const { ways, plainest } = findWays(rested, candidates, given);
  if (ways.length === 0) {
    const { path, plan } = plainest;
    return onGrid(onsets, plainest, writtenLengths(notes, onsets, path, plan), 0);
  }
  const withoutThirds = () => findWays(rested, candidates.flatMap(plainlyDivided), given).ways;
  const chosen = chooseWay(ways, onsets, options, withoutThirds);
  if (chosen === null) return freeTime(notes, options);
  const { way, confidence } = chosen;
  const { read } = way;
  const lengths = writtenLengths(notes, onsets, read.path, read.plan);
  const { plan, atTicks } = way.barred;
  const room = (i: number) =>
    i + 1 < atTicks.length ? atTicks[i + 1] - atTicks[i] : Number.POSITIVE_INFINITY;
  const fitting = lengths.map((length, i) => Math.min(length, room(i)));
  return onGrid(onsets, { plan, path: { ...read.path, atTicks } }, fitting, confidence);
}

/** Notes with the rests before them. */
export function restedNotes(notes: readonly Timed[]): AccentedNote[] {
  return notes.map(({ midi, onsetSec, offsetSec }, i) => ({
    midi,
    onsetSec,
    offsetSec,
    restSec: i === 0 ? 0 : restBefore(onsetSec - notes[i - 1].offsetSec),
  }));
}

function nearestNote(notes: readonly Timed[], sec: number): number {
  const away = notes.map(({ onsetSec }) => Math.abs(onsetSec - sec));
  return away.indexOf(Math.min(...away));
}

function isUntold({ metre, tempoBpm, pickupTicks, downbeatSec }: BeatOptions): boolean {
  return [metre, tempoBpm, pickupTicks, downbeatSec].every((told) => told === undefined);
}

/** Notes that are nearly all of equal length, and at least this long, are an exercise and say nothing about bars. */
const LONG_TONE_SEC = 0.9;
const EQUAL_SHARE = 0.8;
const EQUAL_WITHIN = 0.15;

function isLongTones(onsets: readonly HeardOnset[]): boolean {
  const steps = onsets.slice(1).map(({ onsetSec }, i) => onsetSec - onsets[i].onsetSec);
  if (steps.length === 0) return false;
  const usual = median(steps);
  const equal = steps.filter((step) => Math.abs(step - usual) <= EQUAL_WITHIN * usual).length;
  return usual >= LONG_TONE_SEC && equal >= EQUAL_SHARE * steps.length;
}

/** Below this confidence triplets are not believed, unless all three of a beat were played; time may then be free. */
const TRIPLETS_FROM = 0.95;
/** Fewer odd ones than this share of the notes are slips of the hand or the ear, and say nothing against the bars. */
const ODD_SHARE = 0.1;
const WITHOUT_TRIPLETS_FROM = 0.5;

/** The way to write the notes; null for free time, which is ruled out when tempo or bars are given. */
function chooseWay(
  ways: readonly BarredReading[],
  onsets: readonly HeardOnset[],
  options: BeatOptions,
  withoutThirds: () => readonly BarredReading[],
): ReturnType<typeof safestWay> | null {
  const chosen = safestWay(ways);
  if (!isUntold(options)) return chosen;
  if (isLongTones(onsets)) return null;
  if (chosen.confidence >= TRIPLETS_FROM || !isOddlyDivided(chosen.way)) return chosen;
  const plainer = ways.filter((way) => !isOddlyDivided(way));
  const others = plainer.length > 0 ? plainer : withoutThirds();
  if (others.length === 0) return null;
  const other = safestWay(others);
  if (other.confidence < WITHOUT_TRIPLETS_FROM) return null;
  // Chosen among ways without thirds only, so the absence of thirds is in doubt as well.
  const doubt = plainer.length > 0 ? 1 : chosen.confidence;
  return { ...other, confidence: Math.round(100 * other.confidence * doubt) / 100 };
}

/** True if beats are divided in three with one of the three missing, and the take is not long-short throughout. */
function isOddlyDivided({ read, barred: { plan, atTicks } }: BarredReading): boolean {
  if (isCompound(plan.metre)) return false;
  const places = new Set(atTicks);
  const thirds = atTicks.filter((at) => at % TICKS_PER_BEAT === 4 || at % TICKS_PER_BEAT === 8);
  const lengths = atTicks.map((at, i) => (atTicks[i + 1] ?? at + TICKS_PER_BEAT) - at);
  if (plan.swung && isSwing({ ...read.path, atTicks }, lengths)) return false;
  const odd = thirds.filter((at) => {
    const beat = at - (at % TICKS_PER_BEAT);
    return ![0, 4, 8].every((tick) => places.has(beat + tick));
  });
  return odd.length > ODD_SHARE * atTicks.length;
}

function restBefore(gapSec: number): number {
  return gapSec >= REST_SEC ? gapSec : 0;
}

let allPlans: PlanPrior[] | undefined;

/** Bar plans of the given metre, or of all common ones; an uncommon metre has one plan, built from its levels. */
export function plansOf({ metre }: BeatOptions): readonly PlanPrior[] {
  if (metre !== undefined) return plansOfMetre(metre);
  allPlans ??= plansOfMetre(undefined);
  return allPlans;
}

function plansOfMetre(metre: Metre | undefined): PlanPrior[] {
  const known = PROFILES.filter(
    ({ metre: { count, unit } }) => !metre || (metre.count === count && metre.unit === unit),
  );
  const profiles: readonly OnsetProfile[] =
    metre && known.length === 0 ? [{ metre, share: 1, sixteenths: undefined, swings: true }] : known;
  return profiles.flatMap(({ metre: each, share, sixteenths, swings }) => [
    planPrior(planBar(each, false, sixteenths), share),
    ...(swings && !isCompound(each) ? [planPrior(planBar(each, true, sixteenths), share * SWUNG_ODDS)] : []),
  ]);
}

/** The same plan without thirds of a beat; none if the metre or its swing is made of them. */
function plainlyDivided({ plan, logPrior }: PlanPrior): PlanPrior[] {
  if (plan.swung || isCompound(plan.metre)) return [];
  const kept = plan.places.flatMap((tick, place) => (tick % (TICKS_PER_BEAT / 4) === 0 ? [place] : []));
  const plain: BarPlan = {
    ...plan,
    places: kept.map((place) => plan.places[place]),
    onsetShare: kept.map((place) => plan.onsetShare[place]),
  };
  return [{ plan: plain, steps: barSteps(plain, LONGEST_TICKS), logPrior }];
}

function planPrior(plan: BarPlan, share: number): PlanPrior {
  return { plan, steps: barSteps(plan, LONGEST_TICKS), logPrior: Math.log(share) };
}

function onGrid(
  onsets: readonly HeardOnset[],
  { plan, path }: Pick<Reading, 'plan' | 'path'>,
  lengths: readonly number[],
  confidence: number,
): Beats {
  return {
    ticksPerBeat: TICKS_PER_BEAT,
    tempoBpm: meanTempo(onsets, path),
    metre: plan.metre,
    pickupTicks: path.atTicks[0] > 0 ? plan.barTicks - path.atTicks[0] : 0,
    swing: plan.swung && isSwing(path, lengths),
    confidence,
    gridSec: gridTimes(onsets, path, lengths),
    notes: lengths.map((lengthTicks, i) => ({ atTicks: path.atTicks[i], lengthTicks })),
  };
}

/** A shuffle has at least this many long-short pairs. */
const FEWEST_PAIRS = 3;

/** True if beats are only ever divided long-short, never in three. */
function isSwing(path: MetricalPath, lengths: readonly number[]): boolean {
  const inBeat = path.atTicks.map((at) => at % TICKS_PER_BEAT);
  return (
    inBeat.filter((at) => at === 8).length >= FEWEST_PAIRS &&
    inBeat.every((at) => at === 0 || at === 8) &&
    lengths.every((length, i) => (inBeat[i] + length) % TICKS_PER_BEAT !== 4)
  );
}

/** Beats between two onsets are evenly spread; those before the first and after the last keep the tempo. */
function gridTimes(onsets: readonly HeardOnset[], path: MetricalPath, lengths: readonly number[]): number[] {
  const { atTicks, beatSec } = path;
  const last = atTicks.length - 1;
  const times: number[] = [];
  let n = 0;
  for (let tick = 0; tick < atTicks[last] + lengths[last] + TICKS_PER_BEAT; tick += TICKS_PER_BEAT) {
    while (n < last && atTicks[n + 1] <= tick) n++;
    const perTick =
      n < last && tick >= atTicks[0]
        ? (onsets[n + 1].onsetSec - onsets[n].onsetSec) / (atTicks[n + 1] - atTicks[n])
        : beatSec[n] / TICKS_PER_BEAT;
    times.push(Number((onsets[n].onsetSec + (tick - atTicks[n]) * perTick).toFixed(4)));
  }
  return times;
}

/** In free time, onsets and lengths are rounded to the nearest sixteenth of a notional quarter, the median step. */
const FREE_GRID_TICKS = 3;

function freeTime(notes: readonly Timed[], { tempoBpm }: BeatOptions): Beats {
  const steps = notes.slice(1).map((note, i) => note.onsetSec - notes[i].onsetSec);
  steps.sort((a, b) => a - b);
  const usualSec = steps.length > 0 ? steps[steps.length >> 1] : 0.6;
  const bpm = Math.round(10 * (tempoBpm ?? 60 / Math.max(usualSec, 0.1))) / 10;
  const toTicks = (sec: number) =>
    FREE_GRID_TICKS * Math.round((sec * bpm * TICKS_PER_BEAT) / 60 / FREE_GRID_TICKS);
  const atTicks: number[] = [];
  for (const [i, note] of notes.entries()) {
    const at = toTicks(note.onsetSec - notes[0].onsetSec);
    atTicks.push(i === 0 ? 0 : Math.max(at, atTicks[i - 1] + FREE_GRID_TICKS));
  }
  return {
    ticksPerBeat: TICKS_PER_BEAT,
    tempoBpm: bpm,
    metre: null,
    pickupTicks: 0,
    swing: false,
    confidence: 0,
    gridSec: [],
    notes: notes.map((note, i) => {
      const sounded = Math.max(FREE_GRID_TICKS, toTicks(note.offsetSec - note.onsetSec));
      const room = i + 1 < notes.length ? atTicks[i + 1] - atTicks[i] : Number.POSITIVE_INFINITY;
      const goesOn = i + 1 < notes.length && restBefore(notes[i + 1].onsetSec - note.offsetSec) === 0;
      return { atTicks: atTicks[i], lengthTicks: goesOn ? room : Math.min(room, sounded) };
    }),
  };
}
