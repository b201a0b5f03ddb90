import type { Hand } from '../../tab/ornament.ts';
import { BAND_STEP_SEC, type BandLevels, WAVE_LIMITS } from './bands.ts';
import { alike, type Opening, openingsIn, quickest, smoothed, widestOf } from './openings.ts';
import { SwingFinder } from './swing.ts';

/** A rate needs at least this many changes. */
const FEWEST_FOR_RATE = 3;
/** Rates within this share of each other are the same. */
const SAME_RATE = 0.2;
/** Hands open or close within this time for the most part; a breath that swells or dies away takes longer. */
const LONGEST_SEC = 0.4;
const QUICK_SHARE = 0.6;
/** The sound grows no softer when hands open, whatever a phone's automatic gain does. */
const LEAST_DEPTH_DB = -1.5;
/** Waves of the brightness of fluttering hands; slower movements are searched for opening by opening. */
const FLUTTER = new SwingFinder(BAND_STEP_SEC, { ...WAVE_LIMITS, leastDepth: 1 });

/**
 * What hands did, if it was hands that moved these levels: how often and how far they opened and closed. Where nothing that they
 * hardly dim can be heard, only the level tells.
 * @param from,to  indices of the part of the note that counts
 */
export function handOf(bands: BandLevels, from: number, to: number): Hand | null {
  const [all, low, high] = [bands.all, bands.low, bands.high].map((levels) => levels.slice(from, to));
  const upper = high.length > 0 ? high : all;
  const bright = upper.map((db, i) => db - (low[i] ?? 0));
  return flutterOf(all, bright, upper) ?? slowlyOf(all, bright, bright) ?? slowlyOf(all, bright, upper);
}

function flutterOf(all: readonly number[], bright: readonly number[], upper: readonly number[]): Hand | null {
  const flutter = FLUTTER.find(bright);
  // Where only the brightness flutters, and not what hands dim most, it is the room.
  const same = flutter && FLUTTER.find(upper);
  if (!flutter || !same || Math.abs(same.hz - flutter.hz) > SAME_RATE * flutter.hz) return null;
  const { hz, depth, from, to } = flutter;
  return {
    kind: 'hand',
    changes: Math.max(1, Math.round(2 * hz * (to - from) * BAND_STEP_SEC)),
    rateHz: hz,
    depthDb: swingBetween(all, bright, from, to),
    brightnessDb: 2 * depth,
  };
}

/** How far the level swings between the times when the sound is bright and those when it is dull, in dB. */
function swingBetween(all: readonly number[], bright: readonly number[], from: number, to: number): number {
  const middle = bright.slice(from, to).toSorted((a, b) => a - b)[(to - from) >> 1];
  const mean = (up: boolean): number => {
    const part = all.slice(from, to).filter((_, i) => bright[from + i] > middle === up);
    return part.reduce((sum, db) => sum + db, 0) / Math.max(1, part.length);
  };
  // The mean of half a wave is 2/π of its peak.
  return (Math.PI / 2) * (mean(true) - mean(false));
}

/** Openings and closings one by one. @param course  by which they are found */
function slowlyOf(all: readonly number[], bright: readonly number[], course: readonly number[]): Hand | null {
  const [levels, brightness] = [smoothed(all), smoothed(bright)];
  const found = smoothed(course);
  const isQuick = (values: readonly number[], one: Opening): boolean =>
    quickest(values, one, LONGEST_SEC) >= QUICK_SHARE * Math.abs(values[one.to] - values[one.from]);
  const openings = openingsIn(found).filter((one) => isQuick(found, one) && isQuick(levels, one));
  const widest = widestOf(openings);
  if (widest === undefined) return null;
  const own = alike(openings, widest);
  // A note that only grows duller dies away.
  if (own.every(({ change }) => change < 0)) return null;
  const moved = (values: readonly number[]): number =>
    own.reduce((sum, { from, to, change }) => sum + Math.sign(change) * (values[to] - values[from]), 0) /
    own.length;
  if (moved(levels) < LEAST_DEPTH_DB) return null;
  const spanSec = (own[own.length - 1].to - own[0].from) * BAND_STEP_SEC;
  return {
    kind: 'hand',
    changes: own.length,
    ...(own.length >= FEWEST_FOR_RATE ? { rateHz: own.length / 2 / spanSec } : {}),
    depthDb: moved(levels),
    brightnessDb: moved(brightness),
  };
}
