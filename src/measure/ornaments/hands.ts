import { median } from '../../statistics.ts';
import type { Hand } from '../../tab/ornament.ts';
import { agreement, BAND_STEP_SEC, type BandLevels, LEAST_AGREEMENT } from './bands.ts';
import { SwingFinder } from './swing.ts';

/** Hands are heard from so much more change in the upper partials than in the lowest, in dB. */
const LEAST_BRIGHTNESS_DB = 5.5;
const CLEAR_BRIGHTNESS_DB = 7;
/** An opening or closing is done within this time: a breath that swells brightens more slowly. */
const LONGEST_CHANGE_SEC = 0.4;
/** The rest may be the room's, or a phone that turns itself up. */
const QUICK_SHARE = 0.6;
/** The attack and the release change the brightness by themselves. */
const ATTACK_SEC = 0.1;
const RELEASE_SEC = 0.08;
/** The brightness is smoothed over so many values on each side. */
const SMOOTH = 2;
/** Values that the brightness must stay for beyond a change, so that an attack is none. */
const STAYS = 4;
/** Changes that make a rate. */
const FEWEST_FOR_RATE = 3;
/** They also make the whole louder, by this at least, and the upper partials by so many times as much as the lower ones. */
const LEAST_DEPTH_DB = 4;
const LEAST_RATIO = 1.4;
/** One change lasts for few values, and noise hides the softest partials: fewer need to agree. */
const OPENING_AGREEMENT = 0.5;
/** Values around a change that show whether the partials agree. */
const AROUND = 6;

/** Hands that flutter, as a wave of the brightness; slower ones are looked for opening by opening. */
const FLUTTER = new SwingFinder(BAND_STEP_SEC, {
  slowestHz: 3,
  fastestHz: 8,
  leastDepth: 0.4 * LEAST_BRIGHTNESS_DB,
  leastShare: 0.55,
  fewestWaves: 2.2,
});

/** Levels of the partials at one time, or their change from one time to another, in dB. */
interface Levels {
  readonly all: number;
  readonly low: number;
  readonly high: number;
}

/** Hands that open or close, by the brightness of the partials; null when there are none. */
export function findHand(bands: BandLevels, lengthSec: number): Hand | null {
  if (bands.high.length === 0 || bands.low.length === 0) return null;
  const from = Math.round(ATTACK_SEC / BAND_STEP_SEC);
  const to = Math.round((lengthSec - RELEASE_SEC) / BAND_STEP_SEC);
  const held = {
    all: bands.all.slice(from, to),
    low: bands.low.slice(from, to),
    high: bands.high.slice(from, to),
    partials: bands.partials.map((track) => track.slice(from, to)),
  };
  if (held.all.length < 2 * STAYS) return null;
  return flutterOf(held) ?? openingsOf(held);
}

function flutterOf(bands: BandLevels): Hand | null {
  const { all, low, high } = bands;
  const flutter = FLUTTER.find(high.map((db, i) => db - low[i]));
  if (flutter === null) return null;
  const { hz, depth, from, to } = flutter;
  // Where the upper partials are up against where they are down.
  const wave = high.slice(from, to);
  const middle = median(wave);
  const mean = (values: readonly number[], up: boolean): number => {
    const part = values.slice(from, to).filter((_, i) => wave[i] > middle === up);
    return part.reduce((sum, db) => sum + db, 0) / Math.max(1, part.length);
  };
  // The mean of half a wave lies at 2/π of its peak.
  const swing = (values: readonly number[]): number =>
    (Math.PI / 2) * (mean(values, true) - mean(values, false));
  const change = { all: swing(all), low: swing(low), high: swing(high) };
  if (!isHands(change) || agreement(bands, from, to) < LEAST_AGREEMENT) return null;
  return {
    kind: 'hand',
    changes: Math.max(1, Math.round(2 * hz * (to - from) * BAND_STEP_SEC)),
    rateHz: hz,
    depthDb: change.all,
    brightnessDb: 2 * depth,
  };
}

function openingsOf(bands: BandLevels): Hand | null {
  const { all, low, high } = bands;
  const [levels, lower, upper] = [all, low, high].map(smoothed);
  const bright = upper.map((db, i) => db - lower[i]);
  const turns = turningPoints(bright);
  const changes = turns.slice(1).flatMap((to, i) => {
    const from = turns[i];
    const up = bright[to] > bright[from] ? 1 : -1;
    const change = {
      all: up * (levels[to] - levels[from]),
      low: up * (lower[to] - lower[from]),
      high: up * (upper[to] - upper[from]),
    };
    const quick = steepest(bright, from, to);
    const isQuick = quick >= LEAST_BRIGHTNESS_DB && quick >= QUICK_SHARE * (change.high - change.low);
    const agrees =
      agreement(bands, Math.max(0, from - AROUND), Math.min(all.length, to + AROUND)) >= OPENING_AGREEMENT;
    return isQuick && isHands(change) && agrees ? [{ from, to, ...change }] : [];
  });
  if (changes.length === 0) return null;
  // Once may be a room or a breath: it must be clear.
  if (changes.length < 2 && changes[0].high - changes[0].low < CLEAR_BRIGHTNESS_DB) return null;
  const mean = (of: (change: Levels) => number): number =>
    changes.reduce((sum, change) => sum + of(change), 0) / changes.length;
  const spanSec = (changes[changes.length - 1].to - changes[0].from) * BAND_STEP_SEC;
  return {
    kind: 'hand',
    changes: changes.length,
    ...(changes.length >= FEWEST_FOR_RATE ? { rateHz: changes.length / 2 / spanSec } : {}),
    depthDb: mean((change) => change.all),
    brightnessDb: mean((change) => change.high - change.low),
  };
}

/** Whether so much louder and brighter is what opening hands do, not a stronger breath, a room or a codec. */
function isHands({ all, low, high }: Levels): boolean {
  return all >= LEAST_DEPTH_DB && high - low >= LEAST_BRIGHTNESS_DB && high >= LEAST_RATIO * low;
}

function smoothed(values: readonly number[]): number[] {
  return values.map((_, i) => {
    let sum = 0;
    let count = 0;
    for (let k = Math.max(0, i - SMOOTH); k <= Math.min(values.length - 1, i + SMOOTH); k++, count++)
      sum += values[k];
    return sum / count;
  });
}

/** Where a course turns for good: highest and lowest places in turn, each at least the least brightness from the last. */
function turningPoints(values: readonly number[]): number[] {
  let lowest = 0;
  let highest = 0;
  const turns: number[] = [];
  let rising: boolean | null = null;
  for (let i = 0; i < values.length; i++) {
    if (values[i] > values[highest]) highest = i;
    if (values[i] < values[lowest]) lowest = i;
    if (rising !== true && values[i] - values[lowest] >= LEAST_BRIGHTNESS_DB) {
      turns.push(lowest);
      rising = true;
      highest = i;
    } else if (rising !== false && values[highest] - values[i] >= LEAST_BRIGHTNESS_DB) {
      turns.push(highest);
      rising = false;
      lowest = i;
    }
  }
  if (rising !== null) turns.push(rising ? highest : lowest);
  return turns;
}

/** The most that a change gains within the longest time that hands take, in dB. */
function steepest(values: readonly number[], from: number, to: number): number {
  const span = Math.round(LONGEST_CHANGE_SEC / BAND_STEP_SEC);
  const up = Math.sign(values[to] - values[from]);
  let most = 0;
  for (let i = from; i < to; i++) most = Math.max(most, up * (values[Math.min(to, i + span)] - values[i]));
  return most;
}
