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
  const stretches = events.map(({ heldSec }) => heldStretch(samples, heldSec));
  for (const sign of [1, -1]) {
    const tops = stretches.map((stretch) =>
      stretch === null ? 0 : quantile(sign === 1 ? stretch : stretch.map((value) => -value), TOP_SHARE),
    );
    const ceiling = tops.reduce((most, top) => Math.max(most, top), 0);
    stretches.forEach((stretch, i) => {
      if (stretch !== null && tops[i] > CEILING_SHARE * ceiling && isFlat(stretch, sign, tops[i])) {
        clipped[i] = true;
      }
    });
  }
  return clipped;
}

function heldStretch(samples: Samples, [fromSec, toSec]: readonly [number, number]): Float32Array | null {
  if (toSec - fromSec < LEAST_SEC) return null;
  const stretch = new Float32Array(
    Math.round((Math.min(toSec, fromSec + LONGEST_SEC) - fromSec) * samples.sampleRate),
  );
  samples.read(Math.round(fromSec * samples.sampleRate), stretch);
  return stretch;
}

function isFlat(stretch: Float32Array, sign: number, top: number): boolean {
  let high = 0;
  let low = 0;
  for (const value of stretch) {
    if (sign * value > HIGH * top) high++;
    if (sign * value > LOW * top) low++;
  }
  return high > FLAT_SHARE * low;
}
