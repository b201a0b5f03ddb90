import { logOddsOf } from '../../../decode/small-network.ts';
import { quantile } from '../../../statistics.ts';
import type { PartialLevelTrack } from '../../pitch/partial-level.ts';
import { REARTICULATION_NETWORK } from './rearticulation-network.ts';

/**
 * Where a held pitch was begun again by the tongue or a short breath: dips of the pitch's own level, weighed by a
 * small network that sees how level and novelty run around them (as onset detectors do since Lacoste and Eck, EURASIP
 * J. Adv. Signal Process. 2007, 043745). A hand tremolo and a room's own wobble dip as deep; a
 * re-articulation falls and rises steeply, and the phases of the partials break, against what is usual in the same sound.
 */
export interface Rearticulation {
  /** Tick of the lowest level, counted from the start of the track. */
  readonly tick: number;
  /** Log odds that the note was begun again here. */
  readonly logOdds: number;
}

/** What the network looks at. */
export interface DipFeatures {
  /** How far below the lower of the two sides: ln(1 + dB). */
  readonly depth: number;
  /** ln of the ticks from the start of the track and to its end: tails and attacks waver. */
  readonly elapsed: number;
  readonly remaining: number;
  /** How far the pitch moves at most over 20 ms within 40 ms, in semitones: a glide breaks the partials too. */
  readonly moving: number;
  /** Steepest rise and fall over 20 ms at the dip, and the change over 20 ms that is usual around: ln(1 + dB). */
  readonly rise: number;
  readonly fall: number;
  readonly wobbleMedian: number;
  readonly wobbleHigh: number;
  /** Quantiles of the novelty around (see PartialLevelTrack). */
  readonly noveltyMedian: number;
  readonly noveltyHigh: number;
  /** From 150 ms before to 150 ms after, in steps of 15 ms: level in dB against the held one, and novelty. */
  readonly level: readonly number[];
  readonly novelty: readonly number[];
}

/** Ticks looked at on each side of a dip for its depth: 80 ms. */
const SIDE = 16;
/** Dips nearer to each other than this are one. */
const APART = 9;
/** Rise and fall are measured over 20 ms. */
const SLOPE = 4;
/** The pitch moves near a dip: from so many ticks before to so many after. */
const NEAR = 8;
const SHALLOWEST_DB = 1;
/** Longer before or after is all the same, in ticks: 1.5 s. */
const LONGEST = 300;
/** Ticks on each side that show what is usual, without the nearest, and the higher share of it. */
const AROUND = 160;
const AROUND_SKIP = 12;
const HIGH = 0.8;
/** Dips this near to the ends belong to the attack or the release. */
const MARGIN = 5;
/** The course around a dip: so many blocks of so many ticks on each side. */
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
  const wobble = around(levelDb.length - SLOPE, i - SLOPE / 2, (k) =>
    Math.abs(levelDb[k + SLOPE] - levelDb[k]),
  );
  const usual = around(complexNovelty.length, i, (k) => complexNovelty[k]);
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

/** A value at the ticks around one, without the nearest; of a short track, whatever there is. */
function around(count: number, centre: number, valueAt: (tick: number) => number): number[] {
  const values: number[] = [];
  for (let k = Math.max(0, centre - AROUND); k < Math.min(count, centre + AROUND); k++) {
    if (Math.abs(k - centre) > AROUND_SKIP) values.push(valueAt(k));
  }
  return values.length > 0 ? values : [1];
}

/** Means of the blocks of ticks before and after one; beyond the ends, the end goes on. */
function course(track: Float32Array, centre: number): number[] {
  return Array.from({ length: 2 * BLOCKS }, (_, block) => {
    let sum = 0;
    for (let k = 0; k < BLOCK; k++) {
      const tick = centre + (block - BLOCKS) * BLOCK + k;
      sum += track[Math.min(track.length - 1, Math.max(0, tick))];
    }
    return sum / BLOCK;
  });
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
