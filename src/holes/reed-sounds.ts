import type { SoundEvent } from '../analysis/notes/events.ts';
import type { Hypothesis } from '../decode/hypotheses.ts';
import type { PlayableNote } from '../harp/types.ts';
import { probabilityOf, quantile } from '../statistics.ts';
import { hzToMidi } from '../units.ts';

/** Reeds this close in pitch, in semitones, can't be told apart by pitch. */
const SAME_PITCH = 0.35;
/** Partials further than this below the strongest are lost in noise, in dB. */
const RANGE_DB = 45;
/**
 * Spread of a partial's level between notes of one reed, in dB: the usual one, the number of pairs of notes that it
 * counts as, and the least.
 */
const USUAL_SPREAD_DB = 2.5;
const USUAL_COUNTS = 2;
const LEAST_SPREAD_DB = 1;
/** Spread of a partial's level from reed to reed, in dB, and the share of reeds that sound alike. */
const REED_SPREAD_DB = 3.5;
const ALIKE = 0.1;
/** Partials rise and fall together, so ten count as only this many. */
const DEGREES = 7;
/** A hypothesis less likely than this is left out. */
const LEAST_PRIOR = 0.01;
const ROUNDS = 8;

/** Levels of an event's partials around their mean, in dB; empty when they were not measured. */
type Colour = Float64Array;

/**
 * What the tone of the notes may mean where two reeds share a pitch, as 2 draw and 3 blow do. No two reeds have quite
 * the same partials, so notes that differ come from two reeds, and notes that are alike most likely from one. Which is
 * which, and whether they differ at all, is left open: each possibility is a hypothesis, and the passage decides. The
 * notes are divided by two-means clustering (MacQueen, Proc. 5th Berkeley Symposium, 281-297, 1967); a likelihood ratio
 * of normal distributions judges whether there are two reeds.
 * @param most the most that the tone of one note may count for, in nats
 * @returns the possibilities for each such pitch
 */
export function reedHypotheses(
  events: readonly SoundEvent[],
  notes: readonly PlayableNote[],
  most: number,
): Hypothesis[][] {
  const pairs = sharedPitches(notes);
  if (pairs.length === 0) return [];
  const colours = events.map(colourOf);
  const variance = spreadOfOneReed(events, colours);
  return pairs.flatMap(([a, b]) => {
    const midi = 0.5 * (hzToMidi(notes[a].f0Hz) + hzToMidi(notes[b].f0Hz));
    const members = events.flatMap((event, t) =>
      Math.abs(event.midi - midi) < SAME_PITCH && colours[t].length > 0 ? [t] : [],
    );
    return members.length < 2 ? [] : [ofOnePitch(colours, members, [a, b], variance, most)];
  });
}

/** Pairs of natural notes, by their places, that share a pitch. */
function sharedPitches(notes: readonly PlayableNote[]): [number, number][] {
  const natural = notes.flatMap(({ bend, over, f0Hz }, s) => (bend === 0 && !over ? [{ s, f0Hz }] : []));
  return natural.flatMap((a, i) =>
    natural
      .slice(i + 1)
      .filter((b) => Math.abs(hzToMidi(a.f0Hz) - hzToMidi(b.f0Hz)) < SAME_PITCH)
      .map((b): [number, number] => [a.s, b.s]),
  );
}

function colourOf({ partialsDb }: SoundEvent): Colour {
  if (partialsDb.length === 0) return new Float64Array();
  const top = partialsDb.reduce((a, b) => Math.max(a, b));
  const levels = Float64Array.from(partialsDb, (db) => Math.max(db, top - RANGE_DB));
  const mean = levels.reduce((sum, db) => sum + db, 0) / levels.length;
  return levels.map((db) => db - mean);
}

/** Mean square of the differences. */
function distance(a: Colour, b: Colour): number {
  let sum = 0;
  for (let k = 0; k < a.length; k++) sum += (a[k] - b[k]) ** 2;
  return sum / a.length;
}

/** Variance of a partial's level between notes of one reed, from the pitches that occur more than once in the take. */
function spreadOfOneReed(events: readonly SoundEvent[], colours: readonly Colour[]): number {
  const last = new Map<number, Colour>();
  const spreads: number[] = [];
  events.forEach(({ midi, partialsDb }, t) => {
    if (partialsDb.length === 0) return;
    const before = last.get(Math.round(midi));
    if (before !== undefined) spreads.push(distance(before, colours[t]) / 2);
    last.set(Math.round(midi), colours[t]);
  });
  const usual = USUAL_COUNTS * USUAL_SPREAD_DB ** 2;
  const seen = spreads.length === 0 ? 0 : spreads.length * quantile(spreads, 0.75);
  return Math.max(LEAST_SPREAD_DB ** 2, (seen + usual) / (spreads.length + USUAL_COUNTS));
}

/** Hypotheses about the notes of one pitch that two reeds share. */
function ofOnePitch(
  colours: readonly Colour[],
  members: readonly number[],
  [a, b]: readonly [number, number],
  variance: number,
  most: number,
): Hypothesis[] {
  const parted = partInTwo(colours, members);
  // By event: how much likelier its tone is in its own half than in the other.
  const surer = new Float64Array(colours.length);
  const inFirst = new Uint8Array(colours.length);
  let differ = 0;
  if (parted !== null) {
    const { first, means } = parted;
    const noise = variance * (1 / first.length + 1 / (members.length - first.length));
    const between = noise + 2 * REED_SPREAD_DB ** 2;
    const apart = distance(means[0], means[1]);
    differ = probabilityOf((DEGREES / 2) * (apart / noise - apart / between - Math.log(between / noise)));
    for (const t of first) inFirst[t] = 1;
    for (const t of members) {
      const nearer = distance(colours[t], means[1 - inFirst[t]]) - distance(colours[t], means[inFirst[t]]);
      surer[t] = Math.min(most, Math.max(0, ((DEGREES / 2) * nearer) / variance));
    }
  }
  const otherThan = (reed: number): number => (reed === a ? b : a);
  const twoReeds = (ofFirst: number): Hypothesis => ({
    logPrior: Math.log(differ / 2),
    changes: members.map((place) => ({
      place,
      state: inFirst[place] === 1 ? otherThan(ofFirst) : ofFirst,
      nats: -surer[place],
    })),
  });
  const oneReed = (reed: number): Hypothesis => ({
    logPrior: Math.log(((1 - differ) * (1 - ALIKE)) / 2),
    changes: members.map((place) => ({ place, state: otherThan(reed), nats: -most })),
  });
  const open: Hypothesis = { logPrior: Math.log((1 - differ) * ALIKE), changes: [] };
  return [twoReeds(a), twoReeds(b), oneReed(a), oneReed(b), open].filter(
    ({ logPrior }) => logPrior > Math.log(LEAST_PRIOR),
  );
}

/**
 * The notes split in two by their tone: the first part, and the means of the second and the first; `null` when all are
 * alike.
 */
function partInTwo(
  colours: readonly Colour[],
  members: readonly number[],
): { first: number[]; means: [second: Colour, first: Colour] } | null {
  const farthestFrom = (from: Colour): Colour =>
    members.map((t) => colours[t]).reduce((x, y) => (distance(from, y) > distance(from, x) ? y : x));
  let one = farthestFrom(colours[members[0]]);
  let two = farthestFrom(one);
  let first: number[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    const isFirst = (t: number): boolean => distance(colours[t], one) <= distance(colours[t], two);
    first = members.filter(isFirst);
    const second = members.filter((t) => !isFirst(t));
    if (second.length === 0) return null;
    [one, two] = [meanOf(colours, first), meanOf(colours, second)];
  }
  return { first, means: [two, one] };
}

function meanOf(colours: readonly Colour[], of: readonly number[]): Colour {
  const mean = new Float64Array(colours[of[0]].length);
  for (const t of of) for (let k = 0; k < mean.length; k++) mean[k] += colours[t][k] / of.length;
  return mean;
}
