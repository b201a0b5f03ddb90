import { meanOver, median, quantile } from '../../statistics.ts';
import { onsetAround, rowOf, soundingAt } from '../pitch/evidence.ts';
import type { Frames } from '../pitch/frames.ts';
import { type PartialLevel, TICK_SEC } from '../pitch/partial-level.ts';
import { frameAtTick } from './contour.ts';
import type { Stretch } from './rearticulation/split-rearticulations.ts';
import type { ReedSet } from './states.ts';
import { LONGEST_TURN, longestRun, SHORTEST_TURN, smooth, turnsOf } from './turns.ts';

/** Stretches closer than this may belong to one shake, in ticks. */
const TOUCHING = 20;
/** Pitches closer than this are of one reed, in semitones. */
const SAME_PITCH = 0.3;
/** A shake has at least this many turns; fewer are separate notes. */
const LEAST_TURNS = 6;
/** And this many if its turns are longer than this, in ticks: a few slow ones are a figure of slurred notes. */
const LEAST_SLOW_TURNS = 8;
const SLOW_TURN = 26;
/** Ticks over which levels are smoothed, and over which their mean is taken (one turn there and back). */
const SMOOTH = 2;
const TREND = 24;
/** In each turn its reed comes this close to its loudest turn, in dB; in tongued notes of one reed the other is not heard at all. */
const MOST_BELOW_DB = 12;
/**
 * In its turn a reed is louder than the other by at least this, in dB, on average; and in a shake it is heard at least this surely, in
 * nats. Measured: 1.6 to 14 dB and -0.3 to 4.9 nats in 130 rendered shakes; below 1.4 dB or -1.5 nats in nine of eleven held notes
 * with a leak, where tremolo or a room makes both levels swing.
 */
const LEAST_CONTRAST_DB = 1.5;
const LEAST_TURN_NATS = -1;
/**
 * The sound of a shake continues through its turns, while a tongue stops it between notes; in dB. The less surely the reed of a turn
 * is heard and the more surely it begins, in nats, the less has to be missing between turns. Measured: -1 to 4.12 in 130 rendered
 * shakes, 4.2 and more in 35 of 37 tongued turns at that speed, 3.6 and 3.8 in two on a phone.
 */
const MOST_BREAK_DB = 4.15;
const ONSET_SHARE = 0.5;
/**
 * The pitch network hears tongued notes begin, in nats: the median over the turns. Measured: -0.2 to 1.6 in 16 runs; -8 to -0.7 in ten
 * held notes with a leak and a tremolo as deep as that, all but two of them below -2.
 */
const LEAST_ONSET_NATS = -0.5;
/**
 * A reed that is heard throughout as surely as this is a held note into which the other leaks, in nats. Measured: at most 2.1
 * for the reeds of 24 rendered shakes, 3.2 for a held note with a leak in a room.
 */
const THROUGHOUT_NATS = 2.7;
/** The lowest level of both is searched for within this many ticks of a turn. */
const AROUND_TURN = 6;
/** The remainder of a stretch before or after a shake is a note of its own if it is at least this long, in ticks. */
const LEAST_LEFT = 24;
/** The last turn of a shake before a note of the same reed is shorter than this many turns. */
const LONGEST_LAST_TURN = 1.5;
/** A stretch that ends within this many ticks of a turn ends with it. */
const SAME_TURN = 6;

/**
 * Finds shakes: two neighbouring holes alternating at 7 to 28 notes a second. Where touching stretches are of one or both of
 * two neighbouring reeds of one breath, the levels of the two reeds show whether they alternate; each is measured on
 * partials that the other lacks. If the breath stops between the turns they are tongued notes, which a codec or a room
 * has smeared into a held pair, and the pair is split again.
 * @param pairs  the shakes that the harp can sound
 */
export function findShakes(
  level: PartialLevel,
  frames: Frames,
  stretches: readonly Stretch[],
  pairs: readonly ReedSet[],
): Stretch[] {
  const found: Stretch[] = [];
  const spans = stretches.map(({ fromTick, toTick, midi, set }): Span => {
    return { fromTick, toTick, midis: set?.midis ?? [midi] };
  });
  let at = 0;
  while (at < stretches.length) {
    let best: ReedSet | null = null;
    let end = at;
    for (const pair of pairs) {
      const last = groupEnd(spans, at, pair.midis);
      if (last > end) {
        best = pair;
        end = last;
      }
    }
    const shaken = best === null ? null : shakeIn(level, frames, stretches.slice(at, end), best);
    if (shaken === null) {
      found.push(stretches[at]);
      at++;
      continue;
    }
    found.push(...shaken);
    at = end;
  }
  return found;
}

/** What of a stretch shows whether it may belong to a shake. All are of one shape, for which V8 compiles the search once. */
interface Span {
  readonly fromTick: number;
  readonly toTick: number;
  readonly midis: readonly number[];
}

/**
 * End of the longest run of touching stretches, from `at`, that sound only this pair; `at` unless both reeds occur, at once or in a
 * stretch that is short.
 */
function groupEnd(spans: readonly Span[], at: number, pair: readonly number[]): number {
  const [low, high] = pair;
  let hasLow = false;
  let hasHigh = false;
  let isQuick = false;
  let end = at;
  for (; end < spans.length; end++) {
    const { fromTick, toTick, midis } = spans[end];
    if (end > at && fromTick - spans[end - 1].toTick > TOUCHING) break;
    if (!soundsOnly(midis, low, high)) break;
    hasLow ||= sounds(midis, low);
    hasHigh ||= sounds(midis, high);
    isQuick ||= midis.length > 1 || toTick - fromTick < 2 * LONGEST_TURN;
  }
  const isLong = end > at && spans[end - 1].toTick - spans[at].fromTick >= LEAST_TURNS * SHORTEST_TURN;
  return hasLow && hasHigh && isLong && isQuick ? end : at;
}

function sounds(midis: readonly number[], reed: number): boolean {
  for (let i = 0; i < midis.length; i++) if (Math.abs(midis[i] - reed) < SAME_PITCH) return true;
  return false;
}

function soundsOnly(midis: readonly number[], low: number, high: number): boolean {
  for (let i = 0; i < midis.length; i++)
    if (Math.abs(midis[i] - low) >= SAME_PITCH && Math.abs(midis[i] - high) >= SAME_PITCH) return false;
  return true;
}

/** A group with its shake as one stretch; null if there is none. */
function shakeIn(
  level: PartialLevel,
  frames: Frames,
  group: readonly Stretch[],
  pair: ReedSet,
): Stretch[] | null {
  const { fromTick } = group[0];
  const { toTick } = group[group.length - 1];
  const [low, high] = pair.midis;
  const [lows, highs] = level.measureBoth(fromTick, toTick - fromTick, pair.midis);
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
  const count = turns.length - 1;
  const turnTicks = (turns[count] - turns[0]) / count;
  if (count < (turnTicks > SLOW_TURN ? LEAST_SLOW_TURNS : LEAST_TURNS)) return null;
  const from = fromTick + turns[0];
  const to = fromTick + turns[count];
  const parts = turns.slice(1).map((end, i): Turn => {
    const [start, isHigh] = [turns[i], leads[(turns[i] + end) >> 1] > 0];
    const [own, other] = isHigh ? [highs, lows] : [lows, highs];
    return {
      midi: isHigh ? high : low,
      fromTick: fromTick + start,
      toTick: fromTick + end,
      own: own.subarray(start, end),
      other: other.subarray(start, end),
    };
  });
  const { contrastDb, ownNats, onsetNats } = measureTurns(frames, parts);
  if (contrastDb < LEAST_CONTRAST_DB) return null;
  const breakDb = breakBetween(turns, highs, lows);
  if (breakDb - ownNats + ONSET_SHARE * onsetNats > MOST_BREAK_DB) {
    const heard = group.filter((one) => one.fromTick < to && one.toTick > from);
    if (heard.length >= count || onsetNats < LEAST_ONSET_NATS) return null;
    const notes = parts.map((turn) => ({
      midi: turn.midi,
      fromTick: turn.fromTick,
      toTick: turn.toTick,
      rearticulated: false,
      glide: false,
    }));
    return putInto(group, notes);
  }
  if (ownNats < LEAST_TURN_NATS) return null;
  if (pair.midis.some((midi) => meanNats(frames, midi, from, to) > THROUGHOUT_NATS)) return null;
  const begins = firstTurnStart(group, from, fromTick + turns[1]);
  const ends = toTick - to < LEAST_LEFT ? toTick : lastTurnEnd(group, to, turnTicks);
  const shake: Stretch = {
    midi: low,
    fromTick: begins,
    toTick: ends,
    rearticulated: begins === fromTick && group[0].rearticulated,
    glide: false,
    set: pair,
    notesPerSec: (turns.length - 1) / ((to - from) * TICK_SEC),
  };
  return putInto(group, [shake]);
}

/**
 * Where a shake begins whose first turn was followed over ticks [from, to): earlier, if that turn is a stretch of its own; later,
 * if it is the end of a note that was held before.
 */
function firstTurnStart(group: readonly Stretch[], from: number, to: number): number {
  const first = group.find(({ fromTick }) => fromTick > from - LEAST_LEFT) ?? group[0];
  if (first.fromTick <= from) return from - first.fromTick < LEAST_LEFT ? first.fromTick : from;
  const held = group.find(({ fromTick, toTick }) => fromTick <= from && toTick > from);
  return held !== undefined && held.set === undefined && held.toTick < to + SAME_TURN ? held.toTick : from;
}

/**
 * Where a shake ends whose turns were followed to a tick: later, if its last reed sounds on for one more turn before it is struck again.
 */
function lastTurnEnd(group: readonly Stretch[], tick: number, turnTicks: number): number {
  const at = group.findIndex(({ fromTick, toTick }) => fromTick <= tick && toTick > tick);
  const next = group[at + 1];
  if (at < 0 || next === undefined) return tick;
  const { midi, set, toTick } = group[at];
  const isTurn = set === undefined && toTick - tick < LONGEST_LAST_TURN * turnTicks;
  return isTurn && next.rearticulated && next.fromTick === toTick && next.midi === midi ? toTick : tick;
}

/** A group in which the stretches covered by what was found are replaced by it; those before and after are cut short. */
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

/** Mean of how surely the network hears a pitch in ticks [from, to), in nats. */
function meanNats(frames: Frames, midi: number, from: number, to: number): number {
  const row = rowOf(frames.evidence, midi);
  return meanOver(from, to, (tick) => soundingAt(frames.evidence, row, frameAtTick(frames, tick)));
}

/** One turn of a pair: the reed that leads in it, and the levels of both, in dB. */
interface Turn {
  readonly midi: number;
  readonly fromTick: number;
  readonly toTick: number;
  readonly own: Float32Array;
  readonly other: Float32Array;
}

/** Of the reed whose turn it is: by how much it is the louder one and how surely it sounds, on average, and how surely it begins. */
function measureTurns(
  frames: Frames,
  turns: readonly Turn[],
): { contrastDb: number; ownNats: number; onsetNats: number } {
  const onset = ({ midi, fromTick }: Turn): number =>
    onsetAround(frames.evidence, [rowOf(frames.evidence, midi)], frameAtTick(frames, fromTick));
  const mean = (valueIn: (turn: Turn) => number): number =>
    meanOver(0, turns.length, (i) => valueIn(turns[i]));
  return {
    contrastDb: mean(({ own, other }) => loudOf(own) - loudOf(other)),
    ownNats: mean(({ midi, fromTick, toTick }) => meanNats(frames, midi, fromTick, toTick)),
    onsetNats: median(turns.map(onset)),
  };
}

/** Level of a turn, in dB: few of its values are higher. */
const loudOf = (levels: Float32Array): number => quantile(levels, 0.8);

/** How far the louder of the two reeds sinks between turns, in dB: the median. */
function breakBetween(turns: readonly number[], highs: Float32Array, lows: Float32Array): number {
  const louder = highs.map((db, i) => Math.max(db, lows[i]));
  const peaks = turns.slice(1).map((to, i) => quantile(louder.subarray(turns[i], to), 0.9));
  const breaks = turns.slice(1, -1).map((at, i) => {
    const around = louder.subarray(Math.max(0, at - AROUND_TURN), at + AROUND_TURN + 1);
    return Math.min(peaks[i], peaks[i + 1]) - quantile(around, 0);
  });
  return quantile(breaks, 0.5);
}
