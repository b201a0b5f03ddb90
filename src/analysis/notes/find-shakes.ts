import { meanOver, quantile } from '../../statistics.ts';
import { rowOf, soundingAt } from '../pitch/evidence.ts';
import type { Frames } from '../pitch/frames.ts';
import { type PartialLevel, TICK_SEC } from '../pitch/partial-level.ts';
import { frameAtTick } from './contour.ts';
import type { Stretch } from './rearticulation/split-rearticulations.ts';
import type { ReedSet } from './states.ts';

/** Stretches nearer to each other than this may be of one shake, in ticks. */
const TOUCHING = 20;
/** Pitches nearer than this are one reed's, in semitones. */
const SAME_PITCH = 0.3;
/** A turn of a shake lasts so many ticks: 35 to 145 ms. */
const SHORTEST_TURN = 7;
const LONGEST_TURN = 29;
/** So many turns make a shake; fewer are a few notes. */
const LEAST_TURNS = 6;
/** How far the two reeds' levels go past each other, in dB. */
const LEAST_SWING_DB = 5;
/** Their levels are smoothed over so many ticks, and taken against their mean over so many: a turn there and back. */
const SMOOTH = 2;
const TREND = 24;
/** In each turn its reed is about as loud as in its loudest, in dB: between tongued notes of one reed the other is not heard. */
const MOST_BELOW_DB = 12;
/** Share of that swing which a turn has to pass on both sides of the middle. */
const HYSTERESIS = 0.15;
/** A turn may be so many times as long as the middle one, or so much shorter. */
const UNEVEN = 2.3;
/**
 * A shake goes on through its turns; a tongue stops the breath between notes, in dB. Measured: 82 rendered shakes 0.6 to 4.4,
 * 40 tongued turns at that speed 5.0 to 17, one on a phone 3.5.
 */
const MOST_BREAK_DB = 4.7;
/**
 * A reed that is heard as surely as this all along is a held note beside which the other slips in. Measured: reeds of 24 rendered
 * shakes at most 2.1, a held note with a leak in a room 3.2.
 */
const THROUGHOUT_NATS = 2.7;
/** The lowest level of both is looked for so many ticks around a turn. */
const AROUND_TURN = 6;
/** What is left of a stretch before or after a shake is a note of its own from this length on, in ticks. */
const LEAST_LEFT = 24;

/**
 * Shakes: two neighbouring holes in quick turn, 7 to 28 notes a second. Where stretches touch that are of two neighbouring
 * reeds of one breath, of one or both of them, their levels tell whether the reeds take turns: each by the partials that
 * the other does not have. Where the breath stops between the turns they are tongued notes: a coder or a room smears them
 * into a pair that was held, and they are parted again.
 * @param pairs the shakes that the harp can sound
 */
export function findShakes(
  level: PartialLevel,
  frames: Frames,
  stretches: readonly Stretch[],
  pairs: readonly ReedSet[],
): Stretch[] {
  const found: Stretch[] = [];
  let at = 0;
  while (at < stretches.length) {
    const best = pairs
      .map((pair) => ({ pair, end: groupEnd(stretches, at, pair) }))
      .reduce((most, one) => (one.end > most.end ? one : most), { pair: null as ReedSet | null, end: at });
    const group = stretches.slice(at, best.end);
    const shaken = best.pair === null ? null : shakeIn(level, frames, group, best.pair);
    if (shaken === null) {
      found.push(stretches[at]);
      at++;
      continue;
    }
    found.push(...shaken);
    at = best.end;
  }
  return found;
}

/** End of the longest run of touching stretches from one on that sound only this pair; `at` where both don't. */
function groupEnd(stretches: readonly Stretch[], at: number, pair: ReedSet): number {
  const has = [false, false];
  let end = at;
  for (; end < stretches.length; end++) {
    if (end > at && stretches[end].fromTick - stretches[end - 1].toTick > TOUCHING) break;
    const { midi, set } = stretches[end];
    const reeds = (set?.midis ?? [midi]).map((one) =>
      pair.midis.findIndex((other) => Math.abs(one - other) < SAME_PITCH),
    );
    if (reeds.includes(-1)) break;
    for (const reed of reeds) has[reed] = true;
  }
  const isLong =
    end > at && stretches[end - 1].toTick - stretches[at].fromTick >= LEAST_TURNS * SHORTEST_TURN;
  return has[0] && has[1] && isLong ? end : at;
}

/** The group with its shake as one stretch; null where there is none. */
function shakeIn(
  level: PartialLevel,
  frames: Frames,
  group: readonly Stretch[],
  pair: ReedSet,
): Stretch[] | null {
  const { fromTick } = group[0];
  const { toTick } = group[group.length - 1];
  const [low, high] = pair.midis;
  const track = (midi: number, other: number): Float32Array =>
    level.measure(fromTick, new Float32Array(toTick - fromTick).fill(midi), other);
  const lows = track(low, high);
  const highs = track(high, low);
  const lead = smooth(
    highs.map((db, i) => db - lows[i]),
    SMOOTH,
  );
  const trend = smooth(lead, TREND);
  const leads = lead.map((db, i) => db - trend[i]);
  const all = turnsOf(leads);
  const isLoud = all.slice(1).map((to, i) => {
    const from = all[i];
    const leader = leads[(from + to) >> 1] > 0 ? highs : lows;
    return quantile(leader.subarray(from, to), 1) > quantile(leader, 0.9) - MOST_BELOW_DB;
  });
  const turns = longestRun(all, isLoud);
  if (turns.length < LEAST_TURNS + 1) return null;
  const from = fromTick + turns[0];
  const to = fromTick + turns[turns.length - 1];
  if (breakBetween(turns, highs, lows) > MOST_BREAK_DB) {
    const heard = group.filter((one) => one.fromTick < to && one.toTick > from);
    if (heard.length >= turns.length - 1) return null;
    const notes = turns.slice(1).map((end, i) => ({
      midi: leads[(turns[i] + end) >> 1] > 0 ? high : low,
      fromTick: fromTick + turns[i],
      toTick: fromTick + end,
      rearticulated: false,
      glide: false,
    }));
    return putInto(group, notes);
  }
  if (pair.midis.some((midi) => meanNats(frames, midi, from, to) > THROUGHOUT_NATS)) return null;
  // Its first turn may be a stretch of its own.
  const first = group.find((one) => one.fromTick > from - LEAST_LEFT) ?? group[0];
  const begins = from - first.fromTick < LEAST_LEFT ? Math.min(from, first.fromTick) : from;
  const ends = toTick - to < LEAST_LEFT ? toTick : to;
  const shake: Stretch = {
    midi: low,
    fromTick: begins,
    toTick: ends,
    rearticulated: begins === fromTick && first.rearticulated,
    glide: false,
    set: pair,
    notesPerSec: (turns.length - 1) / ((to - from) * TICK_SEC),
  };
  return putInto(group, [shake]);
}

/** A group with what was found in place of what it covers; what is left before and after is cut short there. */
function putInto(group: readonly Stretch[], found: readonly Stretch[]): Stretch[] {
  const begins = found[0].fromTick;
  const ends = found[found.length - 1].toTick;
  const isLongEnough = (one: Stretch): boolean => one.toTick - one.fromTick >= SHORTEST_TURN;
  return [
    ...group
      .filter((one) => one.fromTick < begins)
      .map((one) => ({ ...one, toTick: Math.min(one.toTick, begins) }))
      .filter(isLongEnough),
    ...found,
    ...group
      .filter((one) => one.toTick > ends)
      .map((one) => ({ ...one, fromTick: Math.max(one.fromTick, ends) }))
      .filter(isLongEnough),
  ];
}

/** How surely the network hears a pitch in ticks [from, to), in nats, on average. */
function meanNats(frames: Frames, midi: number, from: number, to: number): number {
  const row = rowOf(frames.evidence, midi);
  return meanOver(from, to, (tick) => soundingAt(frames.evidence, row, frameAtTick(frames, tick)));
}

/** How far the louder of both reeds sinks from one turn to the next, in dB: the middle one. */
function breakBetween(turns: readonly number[], highs: Float32Array, lows: Float32Array): number {
  const louder = highs.map((db, i) => Math.max(db, lows[i]));
  const peaks = turns.slice(1).map((to, i) => quantile(louder.subarray(turns[i], to), 0.9));
  const breaks = turns.slice(1, -1).map((at, i) => {
    const around = louder.subarray(Math.max(0, at - AROUND_TURN), at + AROUND_TURN + 1);
    return Math.min(peaks[i], peaks[i + 1]) - quantile(around, 0);
  });
  return quantile(breaks, 0.5);
}

/** Mean over so many values on each side, as far as there are any. */
function smooth(values: Float32Array, side: number): Float32Array {
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

/** Where one reed takes over from the other, in ticks; both ends, too. */
function turnsOf(lead: Float32Array): number[] {
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

/** The longest run of turns that are loud and about as long as each other. */
function longestRun(turns: readonly number[], isLoud: readonly boolean[]): readonly number[] {
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
