import type { BandLevels } from './bands.ts';
import { dot } from './swing.ts';

/** How closely and how far the partials of a note follow one course of its level. */
export interface Following {
  /** dB of movement for each dB of the course: the lowest partial, those that hands hardly dim, and those that they dim most. */
  readonly first: number;
  readonly low: number;
  readonly high: number;
  /** How much better hands explain what the partials do than breath, which moves all of them as far; -1 to 1. */
  readonly handlike: number;
  /** Mean correlation of a partial with the course. */
  readonly close: number;
}

const NOTHING: Following = { first: 0, low: 0, high: 0, handlike: 0, close: 0 };
/**
 * Cupped hands dim what lies above 500 Hz the more the higher it is, and everything above 2 kHz alike; of the lowest partials they
 * take about a sixth as much (common practice, no source; the same as in `samples/synth/planted.ts`).
 */
const DIMS_FROM_HZ = 500;
const DIMS_OVER_OCTAVES = 2;
const LOWEST_SHARE = 1 / 6;
/** Partials are hardly dimmed below the first share, and dimmed most above the second. */
const HARDLY = 0.35;
const MOST = 0.65;
/** A partial counts half if its movement for each dB of the course is uncertain by this variance. */
const HALF_AT_VARIANCE = 0.02;
const LEAST_POWER = 1e-9;

/** How far closed hands dim a frequency, from 0 to 1 of the most. */
const dimmed = (hz: number): number =>
  Math.max(0, Math.min(1, Math.log2(hz / DIMS_FROM_HZ) / DIMS_OVER_OCTAVES));

interface Partial {
  readonly slope: number;
  readonly correlation: number;
  readonly dimmed: number;
  readonly weight: number;
}

/** @param course  one value for each of those in `bands`, of which those from one index to another count */
export function following(
  { partials, numbers }: BandLevels,
  f0Hz: number,
  course: ArrayLike<number>,
  from: number,
  to: number,
): Following {
  const moves = centred(course, from, to);
  const power = dot(moves, moves);
  if (power < LEAST_POWER || partials.length === 0) return NOTHING;
  const all = partials.map((track, k): Partial => {
    const own = centred(track, from, to);
    const ownPower = dot(own, own);
    const along = dot(own, moves);
    const rest = Math.max(0, ownPower - (along * along) / power);
    const variance = rest / Math.max(1, to - from - 2) / power;
    return {
      slope: along / power,
      correlation: ownPower < LEAST_POWER ? 0 : along / Math.sqrt(ownPower * power),
      dimmed: dimmed(numbers[k] * f0Hz),
      weight: HALF_AT_VARIANCE / (HALF_AT_VARIANCE + variance),
    };
  });
  const slope = (one: Partial): number => one.slope;
  return {
    first: all[0].slope,
    low:
      mean(
        all.filter((one) => one.dimmed < HARDLY),
        slope,
      ) ?? all[0].slope,
    high:
      mean(
        all.filter((one) => one.dimmed > MOST),
        slope,
      ) ?? 0,
    handlike:
      unexplained(all, () => 1) - unexplained(all, (one) => LOWEST_SHARE + (1 - LOWEST_SHARE) * one.dimmed),
    close: mean(all, ({ correlation }) => correlation) ?? 0,
  };
}

/** Mean of the partials, the surest counting most; null if there are none. */
function mean(partials: readonly Partial[], of: (one: Partial) => number): number | null {
  const weights = partials.reduce((sum, { weight }) => sum + weight, 0);
  return weights < LEAST_POWER
    ? null
    : partials.reduce((sum, one) => sum + one.weight * of(one), 0) / weights;
}

/** Share of the movement of all partials that is left if they move in these proportions, 0 to 1. */
function unexplained(partials: readonly Partial[], proportion: (one: Partial) => number): number {
  let [along, shape, total] = [0, 0, 0];
  for (const one of partials) {
    along += one.weight * one.slope * proportion(one);
    shape += one.weight * proportion(one) ** 2;
    total += one.weight * one.slope ** 2;
  }
  return total < LEAST_POWER ? 1 : 1 - (along * along) / (shape * total);
}

/** The values from one index to another, less their mean. */
export function centred(values: ArrayLike<number>, from: number, to: number): Float64Array {
  const part = new Float64Array(to - from);
  let sum = 0;
  for (let i = from; i < to; i++) sum += values[i];
  for (let i = from; i < to; i++) part[i - from] = values[i] - sum / (to - from);
  return part;
}

/** The values less what they are on average around each of them. @param length  how many values the average takes */
export function withoutSlow(values: ArrayLike<number>, length: number): Float64Array {
  const half = length >> 1;
  const count = values.length;
  const sums = new Float64Array(count + 1);
  for (let i = 0; i < count; i++) sums[i + 1] = sums[i] + values[i];
  const left = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const from = Math.max(0, i - half);
    const to = Math.min(count, i + half + 1);
    left[i] = values[i] - (sums[to] - sums[from]) / (to - from);
  }
  return left;
}

/** Standard deviation of the values from one index to another. */
export function spread(values: ArrayLike<number>, from: number, to: number): number {
  const part = centred(values, from, to);
  return Math.sqrt(dot(part, part) / part.length);
}
