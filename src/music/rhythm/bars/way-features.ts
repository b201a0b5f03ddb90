import { median } from '../../../statistics.ts';
import { LEVELS, placeLevels } from '../accents.ts';
import type { BarredReading } from '../confidence.ts';
import { isCompound, TICKS_PER_BEAT } from '../metre.ts';
import type { HeardOnset } from '../metrical-hmm.ts';
import { findParallels, type Parallel, repeatStarts } from '../parallels.ts';
import { WAY_PATTERNS, wayPatterns } from './way-patterns.ts';

/** What is heard of the notes of a take that matters for bars. */
export interface Heard {
  readonly onsets: readonly HeardOnset[];
  /** Strength of the break before each note (`breakStrengths`). */
  readonly strengths: Float64Array;
  /** `levelAccents` of the notes. */
  readonly accents: Float64Array;
  readonly pitches: readonly number[];
  /** Seconds from each note to the next one. */
  readonly lengths: readonly number[];
  /** Median of `lengths`. */
  readonly usualSec: number;
  /** Positions of the notes that are longer than usual. */
  readonly longNotes: readonly number[];
  /** Positions of the notes that begin a phrase (`phraseBreaks`). */
  readonly breaks: readonly number[];
}

/** Where the notes of a take repeat themselves when written in one way. */
export interface Repeats {
  readonly parallels: readonly Parallel[];
  /** First notes of the repeats. */
  readonly starts: readonly number[];
}

/** Names of the features of a whole tune, in the order of `wayFeatures`. */
export const WAY_FEATURES = [
  'likelihood',
  'accents',
  'parallels whole',
  'parallels even',
  'parallels by four',
  'repeats begin on bar',
  'repeats begin on half',
  'repeats begin in upbeat',
  'repeats begin like the tune',
  'first on bar',
  'first in upbeat',
  'last on bar',
  'last on half',
  'bars even',
  'bars by four',
  'bars by eight',
  'bars by sixteen',
  'phrases whole',
  'phrases even',
  'phrases by four',
  'phrases of a bar',
  'phrases begin alike',
  'breaks on bar',
  'breaks in upbeat',
  'long on bar',
  'long on half',
  'bars without a note',
  'tied over bars',
  '2/4',
  '3/4',
  '6/8',
  'other metre',
  'pulse',
  'pulse squared',
  'compound pulse',
  'compound pulse squared',
  'notes in a bar',
  'notes in a bar squared',
  'step in quarters',
  'step in quarters squared',
  'swung',
  'sixteenths',
  ...WAY_PATTERNS,
] as const;

/** A sum over many notes repeats the same evidence: in effect it counts as at most this many notes. */
const NOTES_THAT_TELL = 83;
const TEMPERATURE = 2.5;
/** A typical pulse in seconds, and a typical number of notes in a bar; the features are centred on them. */
const USUAL_PULSE_SEC = 0.6;
const USUAL_NOTES = 5;
/** A break at least this strong begins a phrase. */
const PHRASE_BREAK = 0.35;

/** Positions of the notes before which the tune breaks off so clearly that a phrase begins. */
export function phraseBreaks(strengths: Float64Array): number[] {
  const breaks: number[] = [];
  for (let n = 1; n < strengths.length; n++) if (strengths[n] >= PHRASE_BREAK) breaks.push(n);
  return breaks;
}

/** Weight of each note in a sum over all of them. */
export function countOften(notes: number): number {
  return 1 / (TEMPERATURE * (1 + notes / NOTES_THAT_TELL));
}

/** Evidence for and against one way to bar a tune, in the order of `WAY_FEATURES`; values are of the order of 1. */
export function wayFeatures(
  heard: Heard,
  { read, barred, score }: BarredReading,
  { parallels, starts }: Repeats,
): Float64Array {
  const { plan, atTicks } = barred;
  const { barTicks } = plan;
  const count = atTicks.length;
  const often = countOften(count);
  const half = barTicks % 2 === 0 ? barTicks / 2 : -1;
  const upbeat = barTicks - Math.min(plan.pulseTicks, TICKS_PER_BEAT);
  const inBar = atTicks.map((at) => at % barTicks);
  const last = count - 1;
  const features: number[] = [score * often, accentSum(heard, barred) * often];

  features.push(...parallelFeatures(parallels, barred).map((sum) => sum * often));
  const ofStarts = (is: (tick: number) => boolean) =>
    starts.filter((n) => is(inBar[n])).length / Math.max(1, starts.length);
  features.push(
    ofStarts((tick) => tick === 0),
    ofStarts((tick) => tick === half),
    ofStarts((tick) => tick >= upbeat),
    ofStarts((tick) => tick === inBar[0]),
  );
  features.push(inBar[0] === 0 ? 1 : 0, inBar[0] >= upbeat ? 1 : 0);
  features.push(inBar[last] === 0 ? 1 : 0, inBar[last] === half ? 1 : 0);
  features.push(...multiples(wholeBars(atTicks, barTicks)));

  const { breaks } = heard;
  features.push(...phraseFeatures(heard, barred, breaks));
  let onBar = 0;
  let inUpbeat = 0;
  for (const n of breaks) {
    if (inBar[n] === 0) onBar += heard.strengths[n];
    else if (inBar[n] >= upbeat) inUpbeat += heard.strengths[n];
  }
  features.push(onBar * often, inUpbeat * often);

  const { longNotes } = heard;
  const longAt = (tick: number) =>
    longNotes.filter((n) => inBar[n] === tick).length / Math.max(1, longNotes.length);
  features.push(longAt(0), longAt(half));

  const bars = Math.max(1, (atTicks[last] - atTicks[0]) / barTicks);
  const begun = inBar.filter((at) => at === 0).length;
  const over = atTicks.filter(
    (at, n) => n < last && inBar[n] > 0 && (at % barTicks) + (atTicks[n + 1] - at) > barTicks,
  ).length;
  features.push(1 - Math.min(1, begun / bars), over / bars);

  const { count: beats, unit } = plan.metre;
  const name = `${beats}/${unit}`;
  features.push(name === '2/4' ? 1 : 0, name === '3/4' ? 1 : 0, name === '6/8' ? 1 : 0);
  features.push(['2/4', '3/4', '4/4', '6/8'].includes(name) ? 0 : 1);

  const quarterSec = median(read.path.beatSec);
  const pulse = Math.log((quarterSec * plan.pulseTicks) / TICKS_PER_BEAT / USUAL_PULSE_SEC);
  const compound = isCompound(plan.metre) ? 1 : 0;
  features.push(
    pulse * (1 - compound),
    pulse * pulse * (1 - compound),
    pulse * compound,
    pulse * pulse * compound,
  );
  const dense = Math.log(count / bars / USUAL_NOTES);
  const step = Math.log(heard.usualSec / quarterSec);
  features.push(dense, dense * dense, step, step * step, plan.swung ? 1 : 0);
  features.push(heard.lengths.filter((sec) => sec < 0.4 * quarterSec).length / count);
  features.push(...wayPatterns(barred, heard.pitches, longNotes));
  return Float64Array.from(features);
}

function accentSum({ accents }: Heard, { plan, atTicks }: BarredReading['barred']): number {
  const levels = placeLevels(plan);
  const levelAt = new Int8Array(plan.barTicks).fill(LEVELS - 1);
  plan.places.forEach((tick, p) => {
    levelAt[tick] = levels[p];
  });
  let sum = 0;
  for (let n = 0; n < atTicks.length; n++) sum += accents[n * LEVELS + levelAt[atTicks[n] % plan.barTicks]];
  return sum;
}

export function repeatsOf({ onsets, pitches }: Heard, { atTicks }: BarredReading['barred']): Repeats {
  const steps = atTicks.map((at, n) => (n === 0 || onsets[n].restSec > 0 ? null : at - atTicks[n - 1]));
  const parallels = findParallels(pitches, steps);
  return { parallels, starts: repeatStarts(parallels) };
}

/** Repeats that lie a whole, even or fourfold number of bars apart, each minus those that do not. */
function parallelFeatures(
  parallels: readonly Parallel[],
  { plan, atTicks }: BarredReading['barred'],
): number[] {
  const { barTicks } = plan;
  let whole = 0;
  let even = 0;
  let byFour = 0;
  for (let i = 0; i < parallels.length; i++) {
    const ticks = atTicks[parallels[i].later] - atTicks[parallels[i].earlier];
    if (ticks % barTicks === 0) whole++;
    if (ticks % (2 * barTicks) === 0) even++;
    if (ticks % (4 * barTicks) === 0) byFour++;
  }
  return [whole, even, byFour].map((of) => 2 * of - parallels.length);
}

/** Bars from the first note to where the tune would begin again; null if that is not a whole number. */
function wholeBars(atTicks: readonly number[], barTicks: number): number {
  const last = atTicks[atTicks.length - 1];
  // The last bar is short by the length of the pick-up.
  return Math.round(
    (Math.ceil((last + 1) / barTicks) * barTicks - (atTicks[0] > 0 ? barTicks : 0)) / barTicks,
  );
}

function multiples(bars: number): number[] {
  return [2, 4, 8, 16].map((by) => (bars % by === 0 ? 1 : 0));
}

/** How long phrases are in bars, and whether they begin at the same place in the bar, weighted by how clear their breaks are. */
function phraseFeatures(
  { strengths }: Heard,
  { plan: { barTicks }, atTicks }: BarredReading['barred'],
  breaks: readonly number[],
): number[] {
  if (breaks.length === 0) return [0, 0, 0, 0, 0];
  // The first phrase begins with the tune, and no break shows how clearly.
  const places = new Float64Array(barTicks);
  places[atTicks[0] % barTicks] = 1;
  let all = 1;
  let whole = 0;
  let even = 0;
  let byFour = 0;
  let single = 0;
  let before = 0;
  for (const n of breaks) {
    const weight = strengths[n];
    const ticks = atTicks[n] - atTicks[before];
    before = n;
    places[atTicks[n] % barTicks] += weight;
    all += weight;
    if (ticks % barTicks === 0) whole += weight;
    if (ticks % (2 * barTicks) === 0) even += weight;
    if (ticks % (4 * barTicks) === 0) byFour += weight;
    if (ticks === barTicks) single += weight;
  }
  return [whole, even, byFour, single, Math.max(...places)].map((sum) => sum / all);
}
