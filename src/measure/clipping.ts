import type { SoundEvent } from '../analysis/events.ts';
import type { Samples } from '../audio/samples.ts';
import { quantile } from '../statistics.ts';

/** The top of a note is what this share of its samples stays below: single peaks in knocks and attacks don't count. */
const TOP_SHARE = 0.995;
/** Levels against the top between which a round peak and a flat one differ. */
const HIGH = 0.9;
const LOW = 0.6;
/**
 * A round peak (a parabola) spends half as long above `HIGH` as above `LOW`, as √0.1 is half of √0.4; a flat one nearly
 * as long. Of 1060 notes that were not clipped none reached this share, of notes with more than a tenth of their
 * samples cut 57 %: what halving the rate and codecs round off again can't be seen.
 */
const FLAT_SHARE = 0.6;
/** Notes softer than this against the loudest top of the take are not at its ceiling. */
const CEILING_SHARE = 0.7;
/** So much of a long note is enough, and less than that says nothing of its peaks. */
const LONGEST_SEC = 0.5;
const LEAST_SEC = 0.05;

/** Which notes of a take were cut off at the recorder's ceiling, as far as flat peaks in their held parts show it. */
export function findClipped(samples: Samples, events: readonly SoundEvent[]): boolean[] {
  const clipped = events.map(() => false);
  // One at a time: the held parts of an hour would fill 160 MB.
  const room = new Float32Array(Math.round(LONGEST_SEC * samples.sampleRate));
  const peaks = events.map(({ heldSec }) => {
    const stretch = heldStretch(samples, heldSec, room);
    if (stretch === null) return [];
    const up = peaksOf(stretch);
    for (let i = 0; i < stretch.length; i++) stretch[i] = -stretch[i];
    return [up, peaksOf(stretch)];
  });
  for (const side of [0, 1]) {
    const ceiling = peaks.reduce((most, sides) => Math.max(most, sides[side]?.top ?? 0), 0);
    peaks.forEach((sides, i) => {
      if (sides.length > 0 && sides[side].top > CEILING_SHARE * ceiling && sides[side].flat)
        clipped[i] = true;
    });
  }
  return clipped;
}

/** The held part, as far as it is looked at; null when it is too short. */
function heldStretch(
  samples: Samples,
  [fromSec, toSec]: readonly [number, number],
  room: Float32Array,
): Float32Array | null {
  if (toSec - fromSec < LEAST_SEC) return null;
  const count = Math.round((Math.min(toSec, fromSec + LONGEST_SEC) - fromSec) * samples.sampleRate);
  const stretch = room.subarray(0, count);
  samples.read(Math.round(fromSec * samples.sampleRate), stretch);
  return stretch;
}

/** How high the upper peaks of a stretch are, and whether they are flat. */
function peaksOf(stretch: Float32Array): { top: number; flat: boolean } {
  const top = quantile(stretch, TOP_SHARE);
  return { top, flat: isFlat(stretch, top) };
}

function isFlat(stretch: Float32Array, top: number): boolean {
  let high = 0;
  let low = 0;
  for (let i = 0; i < stretch.length; i++) {
    if (stretch[i] > HIGH * top) high++;
    if (stretch[i] > LOW * top) low++;
  }
  return high > FLAT_SHARE * low;
}
