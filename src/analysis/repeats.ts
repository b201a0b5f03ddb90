/**
 * Where a held pitch was begun anew by the tongue or a short breath: dips of the pitch's own level, weighed by a
 * logistic model. A hand tremolo and a room's own wobble dip as deep; what tells a re-attack is how steeply the
 * level rises against the wobble that is usual in the same sound.
 */
export interface ReAttack {
  /** Tick of the lowest level, counted from the start of the track. */
  readonly tick: number;
  /** Log odds that the note was begun anew here. */
  readonly logOdds: number;
}

/** Weights by tests/bench/fit-repeats.ts on the development takes. */
export const REPEAT_WEIGHTS = {
  fallDepth: 0.448,
  riseDepth: 1.183,
  rise: 3.13,
  fall: 1.177,
  wobble: -3.835,
  bias: -8.561,
} as const;

/** Ticks looked at on each side of a dip for its depth: 80 ms. */
const SIDE = 16;
/** Dips nearer to each other than this are one. */
const APART = 9;
/** Rise and fall are measured over 20 ms. */
const SLOPE = 4;
const SHALLOWEST_DB = 1;
/** Range and share of the level changes that stand for the usual wobble. */
const WOBBLE_RANGE = 160;
const WOBBLE_SKIP = 12;
const WOBBLE_QUANTILE = 0.8;
/** Dips this near to the ends belong to the attack or the release. */
const MARGIN = 5;

/** What the logistic model looks at, all in dB and as ln(1 + x). */
export interface DipFeatures {
  readonly fallDepth: number;
  readonly riseDepth: number;
  readonly rise: number;
  readonly fall: number;
  readonly wobble: number;
}

/** All dips of a level track with the log odds of a re-attack, in order of time. */
export function findDips(level: Float32Array): (ReAttack & { readonly features: DipFeatures })[] {
  const dips: { tick: number; depth: number }[] = [];
  for (let i = MARGIN; i < level.length - MARGIN; i++) {
    if (!isLowest(level, i)) continue;
    const depth = Math.min(highest(level, i - SIDE, i), highest(level, i, i + SIDE)) - level[i];
    if (depth > SHALLOWEST_DB) dips.push({ tick: i, depth });
  }
  dips.sort((a, b) => b.depth - a.depth);
  const kept: number[] = [];
  for (const { tick } of dips) if (kept.every((other) => Math.abs(other - tick) >= APART)) kept.push(tick);
  kept.sort((a, b) => a - b);
  return kept.map((tick) => {
    const features = dipFeatures(level, tick);
    return { tick, features, logOdds: repeatLogOdds(features) };
  });
}

function repeatLogOdds(features: DipFeatures): number {
  const w = REPEAT_WEIGHTS;
  return (
    w.bias +
    w.fallDepth * features.fallDepth +
    w.riseDepth * features.riseDepth +
    w.rise * features.rise +
    w.fall * features.fall +
    w.wobble * features.wobble
  );
}

function dipFeatures(level: Float32Array, i: number): DipFeatures {
  let rise = 0;
  for (let k = i - 1; k < Math.min(level.length - SLOPE, i + 10); k++) {
    rise = Math.max(rise, level[k + SLOPE] - level[k]);
  }
  let fall = 0;
  for (let k = Math.max(SLOPE, i - 10); k <= i + 1 && k < level.length; k++) {
    fall = Math.max(fall, level[k - SLOPE] - level[k]);
  }
  return {
    fallDepth: Math.log1p(highest(level, i - SIDE, i) - level[i]),
    riseDepth: Math.log1p(highest(level, i, i + SIDE) - level[i]),
    rise: Math.log1p(rise),
    fall: Math.log1p(fall),
    wobble: Math.log1p(usualWobble(level, i)),
  };
}

/** The change over 20 ms that four in five places around stay below. */
function usualWobble(level: Float32Array, i: number): number {
  const changes: number[] = [];
  const to = Math.min(level.length - 10, i + WOBBLE_RANGE);
  for (let k = Math.max(6, i - WOBBLE_RANGE); k < to; k++) {
    if (Math.abs(k + SLOPE / 2 - i) > WOBBLE_SKIP) changes.push(Math.abs(level[k + SLOPE] - level[k]));
  }
  if (changes.length <= 10) return 1;
  changes.sort((a, b) => a - b);
  return changes[Math.floor(changes.length * WOBBLE_QUANTILE)];
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
