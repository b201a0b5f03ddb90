import type { SoundEvent } from '../analysis/notes/events.ts';
import type { Samples } from '../audio/samples.ts';
import { quantile } from '../statistics.ts';
import { amplitudeToDb } from '../units.ts';

/** How a note began, and how even it was. */
export interface Tone {
  /** Seconds from 15 dB below the held level to 3 dB below it; null if it did not begin from below. */
  readonly attackSec: number | null;
  /** Half the range of the middle 68 % of the level in the held part, in dB. */
  readonly levelSpreadDb: number;
}

/** Levels are read at this interval, in windows of this length, from this long before the onset; an attack is searched for this far at most. Set by hand, no source. */
const STEP_SEC = 0.005;
const WINDOW_SEC = 0.01;
const BEFORE_SEC = 0.06;
const LONGEST_ATTACK_SEC = 0.3;
/** An attack lasts from the first of these levels, which defines the onset here, to the second, nearly the full one. */
const FROM_DB = -15;
const TO_DB = -3;
/** One window at this interval is enough to measure evenness. */
const EVEN_STEP_SEC = 0.04;

/** Attack and evenness of a note by its level in windows of 10 ms. */
export function measureTone(samples: Samples, event: SoundEvent): Tone {
  const { onsetSec, offsetSec, heldSec, levelDb } = event;
  const held: number[] = [];
  for (let sec = heldSec[0]; sec <= heldSec[1]; sec += EVEN_STEP_SEC) held.push(levelAt(samples, sec));
  return {
    attackSec: attackOf(samples, onsetSec, Math.min(offsetSec, onsetSec + LONGEST_ATTACK_SEC), levelDb),
    levelSpreadDb: held.length > 1 ? (quantile(held, 0.84) - quantile(held, 0.16)) / 2 : 0,
  };
}

function attackOf(samples: Samples, onsetSec: number, untilSec: number, heldDb: number): number | null {
  let belowSec: number | null = null;
  for (let sec = Math.max(0, onsetSec - BEFORE_SEC); sec < untilSec; sec += STEP_SEC) {
    const levelDb = levelAt(samples, sec);
    if (levelDb < heldDb + FROM_DB) belowSec = sec;
    else if (belowSec !== null && levelDb >= heldDb + TO_DB) return sec - belowSec;
  }
  return null;
}

function levelAt(samples: Samples, sec: number): number {
  const length = Math.max(1, Math.round(WINDOW_SEC * samples.sampleRate));
  const start = Math.round((sec - WINDOW_SEC / 2) * samples.sampleRate);
  return amplitudeToDb(Math.sqrt(samples.meanSquare(start, length)) + 1e-10);
}
