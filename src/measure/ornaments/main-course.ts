import { BAND_STEP_SEC, type BandLevels } from './bands.ts';
import { centred, dot, withoutSlow } from './following.ts';

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
  const tracks = bands.partials.map((track) => {
    const moves = centred(withoutSlow(track, slow), first, last);
    for (let i = 0; i < moves.length; i++) moves[i] = Math.max(-MOST_DB, Math.min(MOST_DB, moves[i]));
    return moves;
  });
  const weights = tracks.map((track) => HALF_AT_VARIANCE / (HALF_AT_VARIANCE + jitter(track)));
  let course = withoutSlow(bands.all, slow).slice(first, last);
  let slopes: number[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    const power = dot(course, course) + LEAST;
    slopes = tracks.map((track) => dot(track, course) / power);
    const scale = slopes.reduce((sum, slope, k) => sum + weights[k] * slope * slope, LEAST);
    const sharpened = new Float64Array(course.length);
    for (let k = 0; k < tracks.length; k++) {
      const track = tracks[k];
      const share = (weights[k] * slopes[k]) / scale;
      for (let i = 0; i < sharpened.length; i++) sharpened[i] += share * track[i];
    }
    course = sharpened;
  }
  const whole = weights.reduce((sum, weight) => sum + weight, LEAST);
  const usual = slopes.reduce((sum, slope, k) => sum + weights[k] * Math.abs(slope), LEAST) / whole;
  let [left, total] = [0, LEAST];
  tracks.forEach((track, k) => {
    total += weights[k] * dot(track, track);
    for (let i = 0; i < track.length; i++) left += weights[k] * (track[i] - slopes[k] * course[i]) ** 2;
  });
  const inBand = (from: number, to: number): number | null => {
    let [sum, of] = [0, 0];
    bands.numbers.forEach((number, k) => {
      if (number * f0Hz < from || number * f0Hz >= to) return;
      sum += weights[k] * slopes[k];
      of += weights[k];
    });
    return of < LEAST ? null : sum / of / usual;
  };
  const byBand = [0, ...EDGES_HZ].map((edge, i) => inBand(edge, EDGES_HZ[i] ?? Number.POSITIVE_INFINITY));
  return {
    course: course.map((db) => db * usual),
    share: 1 - left / total,
    slopes: byBand.map((_, i) => nearest(byBand, i)),
  };
}

/** How far a course jumps from value to value, as a variance: what its second differences would have if it were only noise. */
function jitter(track: Float64Array): number {
  let sum = 0;
  for (let i = 1; i + 1 < track.length; i++) sum += (track[i - 1] - 2 * track[i] + track[i + 1]) ** 2;
  return sum / Math.max(1, track.length - 2) / 6;
}

/** The value at a place, or the next one above or else below it that is known. */
function nearest(values: readonly (number | null)[], at: number): number {
  return (
    values.slice(at).find((value) => value !== null) ??
    values.slice(0, at).findLast((value) => value !== null) ??
    0
  );
}
