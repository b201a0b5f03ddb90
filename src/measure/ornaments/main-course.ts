import { BAND_STEP_SEC, type BandLevels } from './bands.ts';
import { centred, withoutSlow } from './following.ts';
import { dot } from './swing.ts';

/** The course that the partials of a note have in common, each as far as it takes part. */
export interface MainCourse {
  /** Level in dB, as far as an average partial moves; one value for each from the first to the last. */
  readonly course: Float64Array;
  /** Share of the movement of all partials that it explains, 0 to 1. */
  readonly share: number;
  /** How far the partials move for each dB, in bands of an octave and more; a band without partials is like its neighbour. */
  readonly slopes: readonly number[];
}

/** What takes longer is the breath or the room. */
const SLOW_SEC = 0.6;
/** A partial that sinks into the noise counts no further than this, in dB. */
const MOST_DB = 15;
/** A partial counts half if it jitters from value to value by this variance, in dB². */
const HALF_AT_VARIANCE = 0.3;
/** Each round sharpens the course; after these it no longer changes. */
const ROUNDS = 4;
/** Edges of the bands. */
const EDGES_HZ = [700, 1400, 2800];
const LEAST = 1e-9;

/** @param first,last  indices of the part of the note that counts */
export function mainCourse(bands: BandLevels, f0Hz: number, first: number, last: number): MainCourse {
  const slow = Math.round(SLOW_SEC / BAND_STEP_SEC);
  const { partials, numbers } = bands;
  const tracks: Float64Array[] = [];
  const weights: number[] = [];
  for (let k = 0; k < partials.length; k++) {
    const track = clipped(centred(withoutSlow(partials[k], slow), first, last));
    tracks.push(track);
    weights.push(HALF_AT_VARIANCE / (HALF_AT_VARIANCE + jitter(track)));
  }
  let course: Float64Array = withoutSlow(bands.all, slow).slice(first, last);
  let slopes: number[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    slopes = slopesOf(tracks, course);
    course = sharpened(tracks, weights, slopes, course.length);
  }
  const usual = usualSlope(weights, slopes);
  const byBand: (number | null)[] = [];
  for (let i = 0; i <= EDGES_HZ.length; i++)
    byBand.push(
      slopeBetween(
        EDGES_HZ[i - 1] ?? 0,
        EDGES_HZ[i] ?? Number.POSITIVE_INFINITY,
        f0Hz,
        numbers,
        weights,
        slopes,
      ),
    );
  return {
    course: scaled(course, usual),
    share: shareExplained(tracks, weights, slopes, course),
    slopes: byBand.map((slope, i) => (slope === null ? nearest(byBand, i, usual) : slope / usual)),
  };
}

function clipped(track: Float64Array): Float64Array {
  for (let i = 0; i < track.length; i++) track[i] = Math.max(-MOST_DB, Math.min(MOST_DB, track[i]));
  return track;
}

/** How far each partial moves for each dB of the course. */
function slopesOf(tracks: readonly Float64Array[], course: Float64Array): number[] {
  const power = dot(course, course) + LEAST;
  const slopes: number[] = [];
  for (let k = 0; k < tracks.length; k++) slopes.push(dot(tracks[k], course) / power);
  return slopes;
}

/** The course that explains the partials best if each moves that far. */
function sharpened(
  tracks: readonly Float64Array[],
  weights: readonly number[],
  slopes: readonly number[],
  length: number,
): Float64Array {
  let scale = LEAST;
  for (let k = 0; k < tracks.length; k++) scale += weights[k] * slopes[k] * slopes[k];
  const course = new Float64Array(length);
  for (let k = 0; k < tracks.length; k++) addScaled(course, tracks[k], (weights[k] * slopes[k]) / scale);
  return course;
}

function addScaled(sum: Float64Array, values: Float64Array, factor: number): void {
  for (let i = 0; i < sum.length; i++) sum[i] += factor * values[i];
}

function scaled(values: Float64Array, factor: number): Float64Array {
  const out = new Float64Array(values.length);
  addScaled(out, values, factor);
  return out;
}

/** How far a partial moves on average for each dB of the course, up or down. */
function usualSlope(weights: readonly number[], slopes: readonly number[]): number {
  let [moved, whole] = [LEAST, LEAST];
  for (let k = 0; k < weights.length; k++) {
    moved += weights[k] * Math.abs(slopes[k]);
    whole += weights[k];
  }
  return moved / whole;
}

function shareExplained(
  tracks: readonly Float64Array[],
  weights: readonly number[],
  slopes: readonly number[],
  course: Float64Array,
): number {
  let [left, total] = [0, LEAST];
  for (let k = 0; k < tracks.length; k++) {
    total += weights[k] * dot(tracks[k], tracks[k]);
    left += weights[k] * powerLeft(tracks[k], course, slopes[k]);
  }
  return 1 - left / total;
}

function powerLeft(track: Float64Array, course: Float64Array, slope: number): number {
  let sum = 0;
  for (let i = 0; i < track.length; i++) sum += (track[i] - slope * course[i]) ** 2;
  return sum;
}

/** Mean slope of the partials between two frequencies; null if there are none. */
function slopeBetween(
  fromHz: number,
  toHz: number,
  f0Hz: number,
  numbers: readonly number[],
  weights: readonly number[],
  slopes: readonly number[],
): number | null {
  let [sum, of] = [0, 0];
  for (let k = 0; k < numbers.length; k++) {
    if (numbers[k] * f0Hz < fromHz || numbers[k] * f0Hz >= toHz) continue;
    sum += weights[k] * slopes[k];
    of += weights[k];
  }
  return of < LEAST ? null : sum / of;
}

/** How far a course jumps from value to value, as a variance: what its second differences would have if it were only noise. */
function jitter(track: Float64Array): number {
  let sum = 0;
  for (let i = 1; i + 1 < track.length; i++) sum += (track[i - 1] - 2 * track[i] + track[i + 1]) ** 2;
  return sum / Math.max(1, track.length - 2) / 6;
}

/** The next value above a place, or else below it, that is known. */
function nearest(values: readonly (number | null)[], at: number, usual: number): number {
  const known =
    values.slice(at).find((value) => value !== null) ??
    values.slice(0, at).findLast((value) => value !== null) ??
    0;
  return known / usual;
}
