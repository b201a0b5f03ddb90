import { type BarPlan, TICKS_PER_BEAT } from './metre.ts';
import type { HeardOnset, MetricalPath } from './metrical-hmm.ts';

/** Lengths that one note, or two tied ones, can write, in ticks, with how common each is (set by hand [no source]). */
const VALUES: readonly (readonly [ticks: number, share: number])[] = [
  [3, 0.05],
  [4, 0.02],
  [6, 0.2],
  [8, 0.02],
  [9, 0.01],
  [12, 0.3],
  [16, 0.01],
  [18, 0.06],
  [24, 0.18],
  [30, 0.01],
  [36, 0.1],
  [48, 0.08],
  [60, 0.02],
  [72, 0.015],
  [84, 0.005],
  [96, 0.01],
];
/** A note before a rest sounds for this share of its written length, with this spread (common practice). */
const SOUNDED = 0.85;
const SOUNDED_SPREAD = 0.11;
/** How much likelier it is that a note fills the time to the next one than that it is followed by a rest. */
const FILLS_ODDS = 4;
/** How much likelier it is that a note or rest ends on a beat than inside one. */
const ENDS_ON_BEAT_ODDS = 3;

/**
 * The written length of each note: up to the next one if the sound goes on; else the likeliest value for how long it
 * sounded, with a rest for the remainder.
 * @returns ticks, one number per note
 */
export function writtenLengths(
  notes: readonly { readonly onsetSec: number; readonly offsetSec: number }[],
  onsets: readonly HeardOnset[],
  path: MetricalPath,
  plan: BarPlan,
): number[] {
  return notes.map((note, i) => {
    const last = i === notes.length - 1;
    const room = last ? Number.POSITIVE_INFINITY : path.atTicks[i + 1] - path.atTicks[i];
    if (!last && onsets[i + 1].restSec === 0) return room;
    const beatSec = path.beatSec[Math.min(i + 1, notes.length - 1)];
    const soundedTicks = ((note.offsetSec - note.onsetSec) / beatSec) * TICKS_PER_BEAT;
    return likeliestLength(soundedTicks, room, path.atTicks[i], plan);
  });
}

function likeliestLength(soundedTicks: number, room: number, atTicks: number, plan: BarPlan): number {
  const candidates =
    VALUES.some(([ticks]) => ticks === room) || room === Number.POSITIVE_INFINITY
      ? VALUES
      : [...VALUES, [room, 0.005] as const];
  let best = room === Number.POSITIVE_INFINITY ? TICKS_PER_BEAT : room;
  let bestScore = Number.NEGATIVE_INFINITY;
  for (const [ticks, share] of candidates) {
    if (ticks > room || !endsOnGrid(atTicks + ticks, plan, atTicks)) continue;
    const away = (soundedTicks / ticks - SOUNDED) / SOUNDED_SPREAD;
    const score =
      -0.5 * away * away +
      Math.log(share) +
      (ticks === room ? Math.log(FILLS_ODDS) : 0) +
      ((atTicks + ticks) % TICKS_PER_BEAT === 0 ? Math.log(ENDS_ON_BEAT_ODDS) : 0);
    if (score > bestScore) {
      bestScore = score;
      best = ticks;
    }
  }
  return best;
}

/** A note may end where one may begin; within a beat that the note itself divides, on the same division. */
function endsOnGrid(endTicks: number, plan: BarPlan, atTicks: number): boolean {
  if (!plan.places.includes(endTicks % plan.barTicks)) return false;
  const sameBeat = Math.floor(atTicks / TICKS_PER_BEAT) === Math.floor(endTicks / TICKS_PER_BEAT);
  if (!sameBeat || atTicks % TICKS_PER_BEAT === 0) return true;
  return (atTicks % 3 === 0) === (endTicks % 3 === 0) || endTicks % TICKS_PER_BEAT === 0;
}
