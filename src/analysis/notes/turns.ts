import { quantile } from '../../statistics.ts';

/** Length of one turn of a shake in ticks: 35 to 145 ms. */
export const SHORTEST_TURN = 7;
export const LONGEST_TURN = 29;
/** How far the levels of the two reeds must cross, in dB. */
const LEAST_SWING_DB = 5;
/** Share of the swing that a turn must exceed on both sides of the middle. */
const HYSTERESIS = 0.15;
/** A turn may be longer or shorter than the median turn by this factor. */
const UNEVEN = 2.3;

/** Running mean over this many values on each side, or as many as there are. */
export function smooth(values: Float32Array, side: number): Float32Array {
  const sums = new Float64Array(values.length + 1);
  values.forEach((value, i) => {
    sums[i + 1] = sums[i] + value;
  });
  return values.map((_, i) => {
    const from = Math.max(0, i - side);
    const to = Math.min(values.length, i + side + 1);
    return (sums[to] - sums[from]) / (to - from);
  });
}

/** Ticks where one reed takes over from the other, with both ends. */
export function turnsOf(lead: Float32Array): number[] {
  const low = quantile(lead, 0.1);
  const high = quantile(lead, 0.9);
  if (high - low < LEAST_SWING_DB) return [];
  const middle = (low + high) / 2;
  const margin = HYSTERESIS * (high - low);
  const turns = [0];
  let side = 0;
  let crossed = 0;
  lead.forEach((value, i) => {
    if (i > 0 && value > middle !== lead[i - 1] > middle) crossed = i;
    const now = value > middle + margin ? 1 : value < middle - margin ? -1 : side;
    if (side !== 0 && now !== side) turns.push(crossed);
    side = now;
  });
  return [...turns, lead.length];
}

/** The longest run of turns that are loud and of similar length. */
export function longestRun(turns: readonly number[], isLoud: readonly boolean[]): readonly number[] {
  let best: readonly number[] = [];
  for (let from = 0; from < turns.length - 1; from++) {
    let to = from + 1;
    while (to < turns.length && isLoud[to - 1] && isEven(turns.slice(from, to + 1))) to++;
    if (to - from > best.length) best = turns.slice(from, to);
  }
  return best;
}

function isEven(turns: readonly number[]): boolean {
  const lengths = turns.slice(1).map((turn, i) => turn - turns[i]);
  const middle = quantile(lengths, 0.5);
  return (
    middle >= SHORTEST_TURN &&
    middle <= LONGEST_TURN &&
    lengths.every((length) => length <= UNEVEN * middle && length >= middle / UNEVEN)
  );
}
