import { median, quantile } from '../statistics.ts';

/** What is needed of a note to hear, from pauses and long notes, where a tune divides. */
export interface BreakNote {
  readonly onsetSec: number;
  readonly offsetSec: number;
}

/** A gap longer than the usual ones by this, in seconds or relative to the median step, is a full break. */
const FULL_GAP_SEC = 0.22;
const FULL_GAP_SHARE = 0.4;
/** Most gaps of a take lie within phrases: gaps up to this quantile show how it is articulated. */
const USUAL_GAPS = 0.75;
/** A note this many times as long as the median is a full break by its length alone. */
const FULL_LENGTH_STEPS = 3;
/** Weight of a pause, and of a long note. */
const GAP_WEIGHT = 0.7;
const LENGTH_WEIGHT = 0.5;

/**
 * How strongly the tune breaks off before each note, [0, 1]: by a gap longer than the take's usual gaps, so that detached
 * playing does not break everywhere, and by a long note (proximity in time and change of length: Lerdahl & Jackendoff,
 * A Generative Theory of Tonal Music, 1983, ch. 3).
 * @returns one number per note; 0 for the first
 */
export function breakStrengths(notes: readonly BreakNote[]): Float64Array {
  const strengths = new Float64Array(notes.length);
  if (notes.length < 2) return strengths;
  const steps = notes.slice(1).map((note, i) => note.onsetSec - notes[i].onsetSec);
  const gaps = notes.slice(1).map((note, i) => Math.max(0, note.onsetSec - notes[i].offsetSec));
  const usualStep = Math.max(1e-3, median(steps));
  const usualGap = quantile(gaps, USUAL_GAPS);
  const fullGap = Math.max(FULL_GAP_SEC, FULL_GAP_SHARE * usualStep);
  for (let i = 1; i < notes.length; i++) {
    const stands = Math.max(0, Math.min(1, (gaps[i - 1] - usualGap) / fullGap));
    const long = Math.max(0, Math.min(1, Math.log(steps[i - 1] / usualStep) / Math.log(FULL_LENGTH_STEPS)));
    strengths[i] = Math.min(1, GAP_WEIGHT * stands + LENGTH_WEIGHT * long);
  }
  return strengths;
}
