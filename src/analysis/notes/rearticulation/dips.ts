import { logOddsOf } from '../../../decode/small-network.ts';
import { quantile } from '../../../statistics.ts';
import type { PartialLevelTrack } from '../../pitch/partial-level.ts';
import { REARTICULATION_NETWORK } from './rearticulation-network.ts';

/**
 * Where a held note was struck again with the tongue or a short breath: dips in the level of its partials, judged by a small
 * network from the course of level and novelty around them (as onset detectors do since Lacoste and Eck, EURASIP J. Adv.
 * Signal Process. 2007, 043745). A hand tremolo or the room can dip as deep, but a re-articulation falls and rises
 * steeply, and breaks the phases of the partials more than is usual in the same sound.
 */
export interface Rearticulation {
  /** Tick of the lowest level, from the start of the track. */
  readonly tick: number;
  /** Log odds that the note was struck again here. */
  readonly logOdds: number;
}

/** Inputs of the network. */
export interface DipFeatures {
  /** How far the dip lies below the lower of its two sides: ln(1 + dB). */
  readonly depth: number;
  /** ln of the ticks from the start of the track, and to its end: attacks and tails waver. */
  readonly elapsed: number;
  readonly remaining: number;
  /** The furthest that the pitch moves in 20 ms within 40 ms, in semitones: a glide breaks the phases too. */
  readonly moving: number;
  /** Steepest rise and fall over 20 ms at the dip, and the usual change over 20 ms around it: ln(1 + dB). */
  readonly rise: number;
  readonly fall: number;
  readonly wobbleMedian: number;
  readonly wobbleHigh: number;
  /** Quantiles of the novelty around it (see PartialLevelTrack). */
  readonly noveltyMedian: number;
  readonly noveltyHigh: number;
  /** From 150 ms before to 150 ms after, every 15 ms: level in dB relative to the held level, and novelty. */
  readonly level: readonly number[];
  readonly novelty: readonly number[];
}

/** The depth of a dip is measured against this many ticks on each side: 80 ms. */
const SIDE = 16;
/** Dips closer than this are one, in ticks. */
const APART = 9;
/** Rise and fall are measured over this many ticks: 20 ms. */
const SLOPE = 4;
/** Movement of the pitch counts from this many ticks before the dip to this many after. */
const NEAR = 8;
const SHALLOWEST_DB = 1;
/** Longer times before or after make no difference, in ticks: 1.5 s. */
const LONGEST = 300;
/** Ticks on each side that show what is usual, without the nearest ones, and the upper quantile taken of them. */
const AROUND = 160;
const AROUND_SKIP = 12;
const HIGH = 0.8;
/** Dips this close to the ends belong to the attack or the release, in ticks. */
const MARGIN = 5;
/** The course around a dip: the number of blocks on each side, and their length in ticks. */
const BLOCKS = 10;
const BLOCK = 3;
const HELD_QUANTILE = 0.75;

/**
 * All dips of a track with the log odds of a re-articulation, in order of time.
 * @param midi pitch of each tick, as the track was followed
 */
export function findDips(
  track: PartialLevelTrack,
  midi: Float32Array,
): (Rearticulation & { readonly features: DipFeatures })[] {
  const level = track.levelDb;
  const heldDb = level.length > 0 ? quantile(level, HELD_QUANTILE) : 0;
  const dips: { tick: number; depthDb: number }[] = [];
  for (let i = MARGIN; i < level.length - MARGIN; i++) {
    if (!isLowest(level, i)) continue;
    const depthDb = Math.min(highest(level, i - SIDE, i), highest(level, i, i + SIDE)) - level[i];
    if (depthDb > SHALLOWEST_DB) dips.push({ tick: i, depthDb });
  }
  dips.sort((a, b) => b.depthDb - a.depthDb);
  const kept: { tick: number; depthDb: number }[] = [];
  for (const dip of dips) if (kept.every(({ tick }) => Math.abs(tick - dip.tick) >= APART)) kept.push(dip);
  kept.sort((a, b) => a.tick - b.tick);
  return kept.map(({ tick, depthDb }) => {
    const features = dipFeatures(track, midi, heldDb, tick, depthDb);
    return { tick, features, logOdds: logOddsOf(REARTICULATION_NETWORK, networkInputs(features)) };
  });
}

/** The features in the order of the network's inputs. */
export function networkInputs(features: DipFeatures): number[] {
  return [
    features.depth,
    features.elapsed,
    features.remaining,
    features.moving,
    features.rise,
    features.fall,
    features.wobbleMedian,
    features.wobbleHigh,
    features.noveltyMedian,
    features.noveltyHigh,
    ...features.level,
    ...features.novelty,
  ];
}

function dipFeatures(
  { levelDb, complexNovelty }: PartialLevelTrack,
  midi: Float32Array,
  heldDb: number,
  i: number,
  depthDb: number,
): DipFeatures {
  const wobble = around(levelDb, i - SLOPE / 2, SLOPE);
  const usual = around(complexNovelty, i, 0);
  return {
    depth: Math.log1p(depthDb),
    elapsed: Math.log(Math.min(LONGEST, i)),
    remaining: Math.log(Math.min(LONGEST, levelDb.length - i)),
    moving: Math.max(steepest(midi, i - NEAR, i + NEAR, 1), steepest(midi, i - NEAR, i + NEAR, -1)),
    rise: Math.log1p(steepest(levelDb, i - 1, i + 9, 1)),
    fall: Math.log1p(steepest(levelDb, i - 10 - SLOPE, i + 1 - SLOPE, -1)),
    wobbleMedian: Math.log1p(quantile(wobble, 0.5)),
    wobbleHigh: Math.log1p(quantile(wobble, HIGH)),
    noveltyMedian: quantile(usual, 0.5),
    noveltyHigh: quantile(usual, HIGH),
    level: course(levelDb, i).map((value) => value - heldDb),
    novelty: course(complexNovelty, i),
  };
}

/** Steepest step over 20 ms that begins in [from, to], upwards (1) or downwards (-1); at least 0. */
function steepest(track: Float32Array, from: number, to: number, direction: 1 | -1): number {
  let most = 0;
  for (let k = Math.max(0, from); k <= Math.min(track.length - SLOPE - 1, to); k++) {
    most = Math.max(most, direction * (track[k + SLOPE] - track[k]));
  }
  return most;
}

/**
 * Values at the ticks around one, without the nearest; all of them if the track is short.
 * @param apart  if not 0, how far the track moves within this many ticks, instead of its values
 */
function around(track: Float32Array, centre: number, apart: number): Float64Array {
  const values = new Float64Array(2 * AROUND);
  const to = Math.min(track.length - apart, centre + AROUND);
  let count = 0;
  for (let k = Math.max(0, centre - AROUND); k < to; k++) {
    if (Math.abs(k - centre) <= AROUND_SKIP) continue;
    values[count++] = apart === 0 ? track[k] : Math.abs(track[k + apart] - track[k]);
  }
  return count > 0 ? values.subarray(0, count) : Float64Array.of(1);
}

/** Means of the blocks of ticks before and after one; beyond the ends, the end value is repeated. */
function course(track: Float32Array, centre: number): number[] {
  const means: number[] = [];
  for (let block = -BLOCKS; block < BLOCKS; block++) means.push(blockMean(track, centre + block * BLOCK));
  return means;
}

function blockMean(track: Float32Array, from: number): number {
  let sum = 0;
  for (let k = 0; k < BLOCK; k++) sum += track[Math.min(track.length - 1, Math.max(0, from + k))];
  return sum / BLOCK;
}

function isLowest(level: Float32Array, i: number): boolean {
  for (let k = Math.max(0, i - 4); k <= Math.min(level.length - 1, i + 4); k++)
    if (level[k] < level[i]) return false;
  return true;
}

function highest(level: Float32Array, from: number, to: number): number {
  let most = Number.NEGATIVE_INFINITY;
  for (let k = Math.max(0, from); k <= Math.min(level.length - 1, to); k++) most = Math.max(most, level[k]);
  return most;
}
