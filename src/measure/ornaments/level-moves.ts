import type { Hand, Tremolo } from '../../tab/ornament.ts';
import { BAND_STEP_SEC, type BandLevels, WAVE_LIMITS } from './bands.ts';
import { following, spread, withoutSlow } from './following.ts';
import { handOf } from './hands.ts';
import { type MainCourse, mainCourse } from './main-course.ts';
import { alike, openingsIn, quickest, smoothed, widestOf } from './openings.ts';
import { type Swing, SwingFinder } from './swing.ts';

/** Waves of the level. */
const WAVES = new SwingFinder(BAND_STEP_SEC, WAVE_LIMITS);
/** Rates within this share of each other are the same. */
const SAME_RATE = 0.12;
/** Attack and release, which change the brightness by themselves: openings are searched for between them. */
const ATTACK_SEC = 0.1;
/** An opening shows in the partials for this many values on each side. */
const AROUND = 8;
/** Hands open or close within the longer of these times; a swelling breath brightens the sound more slowly. */
const OPENS_SEC = [0.1, 0.2] as const;
/** Fewer values say nothing. */
const FEWEST = 10;

/** How the level and the brightness of a note move, and what that may be. */
export interface LevelMoves {
  readonly tremolo: Tremolo | null;
  readonly hand: Hand | null;
  /**
   * Evidence for either, computed when asked for; levels in units of 10 dB. Depth of the vibrato in units of 50 cents, and whether the
   * level of all and of the upper partials moves at its rate; octaves above A4, ln of the number of audible partials, harmonicity,
   * ln of the length; then what `waveEvidence` tells of both levels, `commonEvidence` and `openingEvidence`.
   */
  readonly evidence: () => readonly number[];
}

/** What is known of the note besides its levels. */
interface MovedNote {
  readonly f0Hz: number;
  readonly harmonicityDb: number;
  readonly lengthSec: number;
}

/**
 * @param fromSec,toSec  the part of the note that counts, in seconds from its onset
 * @param vibrato  of its pitch
 * @returns null if that part is too short
 */
export function levelMoves(
  bands: BandLevels,
  [fromSec, toSec]: readonly [number, number],
  vibrato: Swing | null,
  note: MovedNote,
): LevelMoves | null {
  const first = Math.round(fromSec / BAND_STEP_SEC);
  const last = Math.min(bands.all.length, Math.round(toSec / BAND_STEP_SEC));
  if (last - first < FEWEST) return null;
  const opens = Math.max(first, Math.round(ATTACK_SEC / BAND_STEP_SEC));
  const wave = WAVES.find(bands.all.slice(first, last));
  let known: CommonCourse | null = null;
  const common = (): CommonCourse => {
    known ??= commonCourse(bands, note.f0Hz, first, last);
    return known;
  };
  const deepest = wave ?? common().wave;
  return {
    tremolo: deepest && { kind: 'tremolo', rateHz: deepest.hz, depthDb: 2 * deepest.depth },
    hand: handOf(bands, opens, last),
    evidence: () => evidenceOf(bands, note, vibrato, wave, common(), [first, opens, last]),
  };
}

/** What the partials have in common, and the wave of it. */
interface CommonCourse extends MainCourse {
  readonly wave: Swing | null;
}

function commonCourse(bands: BandLevels, f0Hz: number, first: number, last: number): CommonCourse {
  const main = mainCourse(bands, f0Hz, first, last);
  return { ...main, wave: WAVES.find([...main.course]) };
}

function evidenceOf(
  bands: BandLevels,
  note: MovedNote,
  vibrato: Swing | null,
  wave: Swing | null,
  common: CommonCourse,
  [first, opens, last]: readonly [number, number, number],
): number[] {
  const upper = bands.high.length > 0 ? bands.high : bands.all;
  const flutter = WAVES.find(upper.slice(first, last));
  return [
    vibrato === null ? 0 : vibrato.depth / 50,
    goesWith(vibrato, wave?.hz),
    goesWith(vibrato, flutter?.hz),
    Math.log2(note.f0Hz / 440),
    Math.log(Math.max(1, bands.partials.length)),
    note.harmonicityDb / 10,
    Math.log(note.lengthSec),
    ...waveEvidence(bands, note.f0Hz, bands.all, wave, first, last),
    ...waveEvidence(bands, note.f0Hz, upper, flutter, first, last),
    ...commonEvidence(bands, note.f0Hz, common, first, last),
    ...openingEvidence(bands, note.f0Hz, upper, opens, last),
  ];
}

/** How much the partials have in common, how they follow it, its wave, and how far they move with it from band to band. */
function commonEvidence(
  bands: BandLevels,
  f0Hz: number,
  { share, course, wave, slopes }: CommonCourse,
  first: number,
  last: number,
): number[] {
  const moves = spread(course, 0, last - first);
  return [
    share,
    ...followed(bands, f0Hz, padded(course, first), first, last),
    ...swingEvidence(wave),
    ...slopes.map((slope) => (slope * moves) / 10),
  ];
}

/** Depth, share, turns and rate of a wave. */
const swingEvidence = (wave: Swing | null): number[] =>
  wave === null
    ? [0, 0, 0, 0]
    : [wave.depth / 10, wave.share, Math.log(wave.hz * (wave.to - wave.from) * BAND_STEP_SEC), wave.hz / 5];

/** A wave, and how the partials follow the course where it was found. */
function waveEvidence(
  bands: BandLevels,
  f0Hz: number,
  course: readonly number[],
  wave: Swing | null,
  first: number,
  last: number,
): number[] {
  if (wave === null) return [...swingEvidence(null), 0, 0, 0, 0, 0, 0];
  const turn = Math.round(1 / wave.hz / BAND_STEP_SEC);
  const to = Math.min(last, first + wave.to);
  return [...swingEvidence(wave), ...followed(bands, f0Hz, withoutSlow(course, turn), first + wave.from, to)];
}

/** How far a course moves, how far partials move with it, and how they follow it. */
function followed(
  bands: BandLevels,
  f0Hz: number,
  course: ArrayLike<number>,
  from: number,
  to: number,
): number[] {
  const { first, low, high, handlike, close } = following(bands, f0Hz, course, from, to);
  const moves = spread(course, from, to) / 10;
  return [moves, first * moves, low * moves, high * moves, handlike, close];
}

/** The widest opening or closing: how far and how quickly, whether it opens, where, one of how many, and how long it takes. */
function openingEvidence(
  bands: BandLevels,
  f0Hz: number,
  upper: readonly number[],
  opens: number,
  last: number,
): number[] {
  const course = smoothed(upper);
  const held = course.slice(opens, last);
  const openings = openingsIn(held);
  const widest = widestOf(openings);
  if (widest === undefined) return new Array<number>(13).fill(0);
  const { from, to, change } = widest;
  const [quicker, quick] = OPENS_SEC.map((sec) => quickest(held, widest, sec));
  return [
    Math.abs(change) / 10,
    quick / 10,
    quicker / Math.abs(change),
    change > 0 ? 1 : 0,
    (from + to) / 2 / held.length,
    alike(openings, widest).length,
    (to - from) * BAND_STEP_SEC,
    ...followed(bands, f0Hz, course, Math.max(0, opens + from - AROUND), Math.min(last, opens + to + AROUND)),
  ];
}

/** The same values, so many places later. */
const padded = (values: Float64Array, places: number): number[] => [
  ...new Array<number>(places).fill(0),
  ...values,
];

/** Whether something moves at the rate of the vibrato: a swinging pitch carries level and brightness with it, above all in a room. */
const goesWith = (vibrato: Swing | null, hz: number | undefined): number =>
  vibrato !== null && hz !== undefined && Math.abs(hz - vibrato.hz) <= SAME_RATE * vibrato.hz ? 1 : 0;
