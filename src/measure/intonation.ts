import { median, quantile } from '../statistics.ts';
import type { NoteIntonation } from '../tab/note.ts';
import type { HeldPitch, PitchPoint } from './held.ts';
import { findVibrato } from './vibrato.ts';

/** The held part must have at least this many moments to be judged: 60 ms. */
const FEWEST_MOMENTS = 6;
/** Moments at either end of a note that show its beginning and its release. */
const END_MOMENTS = 3;
/** Moments that show the slope of a scoop, and how late a window around the onset hears it. */
const WAY_MOMENTS = 5;
const HEARD_LATER_SEC = 0.02;
/** A start closer than this to the held pitch, in cents, is not a scoop: reeds speak slightly low by themselves. */
const LEAST_SCOOP_CENTS = 8;

/**
 * How a note was approached and held, from its pitch every 10 ms:
 * - `driftCentsPerSec`: slope of the straight line through the held part (least squares);
 * - `steadinessCents`: half the range of the middle 68 % around that line after vibrato is removed (one standard deviation
 *   of a normal distribution);
 * - `vibratoHz`, `vibratoCents`: the sine that was removed, absent if there was none (it takes at least 0.2 s);
 * - `scoopCents`, `scoopSec`: where the note began relative to the held pitch, and how many seconds from the onset it took
 *   to stay there;
 * - `overshootCents`: how far it went past the held pitch on the way;
 * - `releaseCents`: where it went at the end.
 * Each moment is measured from spectra of 46 ms, which flatten faster movements.
 * @returns null if less than 60 ms of the held part could be measured
 */
export function measureIntonation(pitch: HeldPitch): NoteIntonation | null {
  const { held, points, midi, settleSec } = pitch;
  if (held.length < FEWEST_MOMENTS) return null;
  const cents = (point: PitchPoint): number => 100 * (point.midi - midi);
  const slope = slopeOf(held, cents);
  const meanSec = held.reduce((sum, { sec }) => sum + sec, 0) / held.length;
  const around = held.map((point) => cents(point) - slope * (point.sec - meanSec));
  const { vibrato, rest } = findVibrato(held, around);
  const startCents = settleSec > 0 ? beginningOf(points.map((point) => [point.sec, cents(point)])) : 0;
  const scoops = settleSec > 0 && Math.abs(startCents) >= LEAST_SCOOP_CENTS;
  const way = points.filter(({ sec }) => sec < Math.max(settleSec, held[0].sec)).map(cents);
  const past = startCents < 0 ? Math.max(0, ...way) : Math.min(0, ...way);
  const usual = vibrato?.cents ?? 0;
  return {
    steadinessCents: (quantile(rest, 0.84) - quantile(rest, 0.16)) / 2,
    driftCentsPerSec: slope,
    scoopCents: scoops ? startCents : 0,
    scoopSec: settleSec,
    overshootCents: scoops && Math.abs(past) > usual + LEAST_SCOOP_CENTS ? past : 0,
    releaseCents: median(points.slice(-END_MOMENTS).map(cents)),
    ...(vibrato === null ? {} : { vibratoHz: vibrato.hz, vibratoCents: vibrato.cents }),
  };
}

/** The pitch at the onset: the line through the first moments, extended back to where their sound is heard from. */
function beginningOf(points: readonly (readonly [sec: number, cents: number])[]): number {
  const way = points.slice(0, WAY_MOMENTS);
  const [[, first]] = way;
  const last = way[way.length - 1];
  const slope = way.length < 2 ? 0 : (last[1] - first) / (last[0] - way[0][0]);
  // Extended only if the pitch moves towards the held one.
  return Math.sign(slope) === -Math.sign(first) ? first - slope * HEARD_LATER_SEC : first;
}

function slopeOf(points: readonly PitchPoint[], cents: (point: PitchPoint) => number): number {
  const n = points.length;
  const meanSec = points.reduce((sum, { sec }) => sum + sec, 0) / n;
  const meanCents = points.reduce((sum, point) => sum + cents(point), 0) / n;
  let product = 0;
  let square = 0;
  for (const point of points) {
    product += (point.sec - meanSec) * (cents(point) - meanCents);
    square += (point.sec - meanSec) ** 2;
  }
  return square > 0 ? product / square : 0;
}
