import { type BarPlan, isCompound, TICKS_PER_BEAT } from './metre.ts';

export interface TempoOptions {
  /** Tempo in beats a minute if given; null to search for it. */
  readonly tempoBpm: number | null;
}

/** Tempo states: beats a minute, and the step between neighbours. */
const SLOWEST_BPM = 36;
const FASTEST_BPM = 250;
const TEMPO_STEP = 0.04;
/** Log probability of keeping the tempo state from note to note, and of moving to a neighbour. */
export const TEMPO_KEEP = Math.log(0.86);
export const TEMPO_MOVE = Math.log(0.07);
/**
 * Preferred pulse, the value usually given (Fraisse, in Deutsch, The Psychology of Music, 1982), and the spread of its log10
 * from Parncutt, Music Perception 11(4), 409-464 (1994). Parncutt finds 0.7 s, but 0.65 s already read songs at 140 at half
 * their tempo.
 */
const PULSE_SEC = 0.6;
const PULSE_SPREAD_LN = 0.2 * Math.LN10;
/**
 * Weight of that preference per note. Without it, long takes drift to where the grid is coarsest. Of 1, 1.5 and 2.5, 1.5
 * had the most note values right (tests/bench/music/beats.ts).
 */
export const PULSE_WEIGHT = 1.5;
/**
 * In slow compound time the foot taps eighths, so a slow dotted quarter is more acceptable than other slow pulses, by this
 * many spreads. Of 0, 0.5, 0.6, 0.8 and 1.2, it had the most downbeats right in tests/bench/music/words.ts without loss in
 * tests/bench/music/bars.ts.
 */
const SLOW_COMPOUND = 0.8;
/** How far the tempo may be from one that is given, in natural log. */
const GIVEN_SPREAD_LN = 0.06;

/** The tempos to choose from, in seconds per beat, slow to fast. */
export function tempoStates(): number[] {
  const states: number[] = [];
  for (let bpm = SLOWEST_BPM; bpm <= FASTEST_BPM; bpm *= 1 + TEMPO_STEP) states.push(60 / bpm);
  return states;
}

/** Log density of a tempo, given the tempo asked for or the preferred pulse, without its constant term. */
export function tempoScore(beatSec: number, plan: BarPlan, { tempoBpm }: TempoOptions): number {
  if (tempoBpm !== null) return -0.5 * (Math.log((beatSec * tempoBpm) / 60) / GIVEN_SPREAD_LN) ** 2;
  const pulseSec = (beatSec * plan.pulseTicks) / TICKS_PER_BEAT;
  let away = Math.log(pulseSec / PULSE_SEC) / PULSE_SPREAD_LN;
  if (isCompound(plan.metre) && away > 0) away = Math.max(0, away - SLOW_COMPOUND);
  return -0.5 * away * away;
}

/** What the tempo at each note adds to the score of a plan, in natural log. */
export function tempoScoreOfPath(beatSec: readonly number[], plan: BarPlan, options: TempoOptions): number {
  let sum = 0;
  for (let n = 0; n < beatSec.length; n++)
    sum += (n === 0 ? 1 : PULSE_WEIGHT) * tempoScore(beatSec[n], plan, options);
  return sum;
}
