import type { Hand } from '../../tab/ornament.ts';
import { BAND_STEP_SEC, type BandLevels } from './bands.ts';

/** Hands are heard from so much more change in the upper partials than in the lowest, in dB. */
const LEAST_BRIGHTNESS_DB = 6;
/** An opening or closing is done within this time: a breath that swells brightens more slowly. */
const LONGEST_CHANGE_SEC = 0.4;
/** The attack and the release change the brightness by themselves. */
const ATTACK_SEC = 0.1;
const RELEASE_SEC = 0.08;
/** The brightness is smoothed over so many values on each side. */
const SMOOTH = 1;
/** Values that the brightness must stay for beyond a change, so that an attack is none. */
const STAYS = 4;
/** Changes that make a rate. */
const FEWEST_FOR_RATE = 3;

/** Hands that open or close, by the brightness of the partials; null when there are none. */
export function findHand({ low, high }: BandLevels, lengthSec: number): Hand | null {
  if (high.length === 0) return null;
  const from = Math.round(ATTACK_SEC / BAND_STEP_SEC);
  const to = Math.round((lengthSec - RELEASE_SEC) / BAND_STEP_SEC);
  const bright = smoothed(high.map((db, i) => db - low[i])).slice(from, to);
  if (bright.length < 2 * STAYS) return null;
  const turns = turningPoints(bright);
  const changes = turns
    .slice(1)
    .map((at, i) => ({ from: turns[i], to: at, db: bright[at] - bright[turns[i]] }));
  const quick = changes.filter((change) => steepIn(bright, change) <= LONGEST_CHANGE_SEC / BAND_STEP_SEC);
  if (quick.length === 0) return null;
  const brightnessDb = quick.reduce((sum, { db }) => sum + Math.abs(db), 0) / quick.length;
  const levels = quick.map((change) => Math.abs(high[from + change.to] - high[from + change.from]));
  const depthDb = levels.reduce((sum, db) => sum + db, 0) / levels.length;
  const spanSec = (quick[quick.length - 1].to - quick[0].from) * BAND_STEP_SEC;
  return {
    kind: 'hand',
    changes: quick.length,
    ...(quick.length >= FEWEST_FOR_RATE ? { rateHz: quick.length / 2 / spanSec } : {}),
    depthDb,
    brightnessDb,
  };
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

/** Values that the middle four fifths of a change take. */
function steepIn(
  values: readonly number[],
  { from, to, db }: { from: number; to: number; db: number },
): number {
  const share = (i: number): number => (values[i] - values[from]) / db;
  let begin = from;
  let end = to;
  while (begin < to && share(begin + 1) <= 0.1) begin++;
  while (end > begin && share(end - 1) >= 0.9) end--;
  return end - begin;
}
