import { median } from '../../statistics.ts';
import type { Hand } from '../../tab/ornament.ts';
import { agreement, BAND_STEP_SEC, type BandLevels } from './bands.ts';
import { SwingFinder } from './swing.ts';

/** Changes of brightness smaller than this are ignored, in dB: half of what hands do. */
const LEAST_CHANGE_DB = 3.5;
/** Hands open or close within this time; a swelling breath brightens the sound more slowly. */
const LONGEST_CHANGE_SEC = 0.4;
/** This share of a change must happen that fast; the rest may be the room, or a phone's automatic gain. */
const QUICK_SHARE = 0.6;
/** Attack and release, which change the brightness by themselves. */
const ATTACK_SEC = 0.1;
const RELEASE_SEC = 0.08;
/** The brightness is smoothed over this many values on each side. */
const SMOOTH = 2;
/** The brightness must stay beyond a change for this many values, which excludes attacks. */
const STAYS = 4;
/** A rate needs at least this many changes. */
const FEWEST_FOR_RATE = 3;
/** Values around a change that show whether the partials agree. */
const AROUND = 6;

/** Waves of the brightness that may be fluttering hands; slower movements are searched for opening by opening. */
const FLUTTER = new SwingFinder(BAND_STEP_SEC, {
  slowestHz: 3,
  fastestHz: 8,
  leastDepth: 1,
  leastShare: 0.35,
  fewestWaves: 2,
});

/** How far the levels move between two places, in dB, and which share of the partials moves along, 0 to 1. */
interface Change {
  readonly all: number;
  readonly low: number;
  readonly high: number;
  readonly agreement: number;
}

/** A movement that may be hands. */
export interface HandMove {
  readonly hand: Hand;
  /** For a flutter, the mean from low to high; for openings, the widest. */
  readonly change: Change;
  /** For a flutter, the share of the movement that the wave explains. */
  readonly share: number;
}

/** How the brightness of the partials flutters, and how it opens and closes; null if it does not. */
export function handMoves(
  bands: BandLevels,
  lengthSec: number,
): { flutter: HandMove | null; openings: HandMove | null } {
  const from = Math.round(ATTACK_SEC / BAND_STEP_SEC);
  const to = Math.round((lengthSec - RELEASE_SEC) / BAND_STEP_SEC);
  if (bands.high.length === 0 || bands.low.length === 0 || to - from < 2 * STAYS)
    return { flutter: null, openings: null };
  const held = {
    all: bands.all.slice(from, to),
    low: bands.low.slice(from, to),
    high: bands.high.slice(from, to),
    partials: bands.partials.map((track) => track.slice(from, to)),
  };
  return { flutter: flutterOf(held), openings: openingsOf(held) };
}

function flutterOf(bands: BandLevels): HandMove | null {
  const { all, low, high } = bands;
  const flutter = FLUTTER.find(high.map((db, i) => db - low[i]));
  if (flutter === null) return null;
  const { hz, depth, from, to, share } = flutter;
  // Compares the times when the upper partials are up with those when they are down.
  const wave = high.slice(from, to);
  const middle = median(wave);
  const mean = (values: readonly number[], up: boolean): number => {
    const part = values.slice(from, to).filter((_, i) => wave[i] > middle === up);
    return part.reduce((sum, db) => sum + db, 0) / Math.max(1, part.length);
  };
  // The mean of half a wave is 2/π of its peak.
  const swing = (values: readonly number[]): number =>
    (Math.PI / 2) * (mean(values, true) - mean(values, false));
  const change = {
    all: swing(all),
    low: swing(low),
    high: swing(high),
    agreement: agreement(bands, from, to),
  };
  const hand: Hand = {
    kind: 'hand',
    changes: Math.max(1, Math.round(2 * hz * (to - from) * BAND_STEP_SEC)),
    rateHz: hz,
    depthDb: change.all,
    brightnessDb: 2 * depth,
  };
  return { hand, change, share };
}

function openingsOf(bands: BandLevels): HandMove | null {
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
      agreement: agreement(bands, Math.max(0, from - AROUND), Math.min(all.length, to + AROUND)),
    };
    const quick = steepest(bright, from, to);
    const isQuick = quick >= LEAST_CHANGE_DB && quick >= QUICK_SHARE * brightness(change);
    return isQuick ? [{ from, to, ...change }] : [];
  });
  if (changes.length === 0) return null;
  const widest = changes.reduce((best, one) => (brightness(one) > brightness(best) ? one : best));
  // Hands move about equally far each time; smaller changes are the room's.
  const own = changes.filter((one) => brightness(one) >= 0.5 * brightness(widest));
  const mean = (of: (change: Change) => number): number =>
    own.reduce((sum, one) => sum + of(one), 0) / own.length;
  const spanSec = (own[own.length - 1].to - own[0].from) * BAND_STEP_SEC;
  const hand: Hand = {
    kind: 'hand',
    changes: own.length,
    ...(own.length >= FEWEST_FOR_RATE ? { rateHz: own.length / 2 / spanSec } : {}),
    depthDb: mean(({ all }) => all),
    brightnessDb: mean(brightness),
  };
  return { hand, change: widest, share: 0 };
}

const brightness = ({ high, low }: Change): number => high - low;

function smoothed(values: readonly number[]): number[] {
  return values.map((_, i) => {
    let sum = 0;
    let count = 0;
    for (let k = Math.max(0, i - SMOOTH); k <= Math.min(values.length - 1, i + SMOOTH); k++, count++)
      sum += values[k];
    return sum / count;
  });
}

/** Where a course turns for good: alternating maxima and minima, each at least the least change away from the last. */
function turningPoints(values: readonly number[]): number[] {
  let lowest = 0;
  let highest = 0;
  const turns: number[] = [];
  let rising: boolean | null = null;
  for (let i = 0; i < values.length; i++) {
    if (values[i] > values[highest]) highest = i;
    if (values[i] < values[lowest]) lowest = i;
    if (rising !== true && values[i] - values[lowest] >= LEAST_CHANGE_DB) {
      turns.push(lowest);
      rising = true;
      highest = i;
    } else if (rising !== false && values[highest] - values[i] >= LEAST_CHANGE_DB) {
      turns.push(highest);
      rising = false;
      lowest = i;
    }
  }
  if (rising !== null) turns.push(rising ? highest : lowest);
  return turns;
}

/** The largest change within the longest time that hands take, in dB. */
function steepest(values: readonly number[], from: number, to: number): number {
  const span = Math.round(LONGEST_CHANGE_SEC / BAND_STEP_SEC);
  const up = Math.sign(values[to] - values[from]);
  let most = 0;
  for (let i = from; i < to; i++) most = Math.max(most, up * (values[Math.min(to, i + span)] - values[i]));
  return most;
}
