import type { SoundEvent } from '../../analysis/notes/events.ts';
import { median, quantile } from '../../statistics.ts';
import { centsBetween } from '../../units.ts';

/** What remains of a note some time after its end. */
export interface EchoPoint {
  /** Seconds since the note's end. */
  readonly afterSec: number;
  /** Relative to the note's own level, in dB. */
  readonly levelDb: number;
}

/** Notes may ring on in the room for this long. */
export const ECHO_SEC = 0.6;
const ECHO_NOTES = 5;
const SAME_PITCH_CENTS = 70;
/** Upper ends of the stretches of time over which the echo is averaged, in seconds. */
const STRETCHES_SEC = [0.06, 0.1, 0.15, 0.22, 0.32, ECHO_SEC];
/** A stretch needs this many points; with fewer, a small live room is assumed. */
const FEWEST_POINTS = 4;
const USUAL_DB = -10;
const USUAL_FALL_DB_PER_SEC = -70;

/**
 * How loud notes ring on in the room of this take, by the time since their end: the median of what was found of earlier
 * notes, so that reeds that really did sound on now and then don't count.
 */
export class EchoCurve {
  readonly #levels: number[];

  constructor(points: readonly EchoPoint[]) {
    this.#levels = STRETCHES_SEC.map((to, i) => {
      const from = STRETCHES_SEC[i - 1] ?? 0;
      const within = points.filter(({ afterSec }) => afterSec >= from && afterSec < to);
      return within.length < FEWEST_POINTS ? Number.NaN : median(within.map(({ levelDb }) => levelDb));
    });
  }

  /** Level of an echo after some time, relative to its note. */
  at(afterSec: number): number {
    const known = this.#levels[STRETCHES_SEC.findIndex((to) => afterSec < to)];
    if (known === undefined) return Number.NEGATIVE_INFINITY;
    return Number.isNaN(known) ? USUAL_DB + USUAL_FALL_DB_PER_SEC * Math.max(0, afterSec) : known;
  }

  /** Level in dB re full scale that the echo of a pitch may have at a time, from the notes before event `index`. */
  expectedDb(events: readonly SoundEvent[], index: number, f0Hz: number, sec: number): number {
    let most = Number.NEGATIVE_INFINITY;
    for (let i = Math.max(0, index - ECHO_NOTES); i < index; i++) {
      const { f0Hz: beforeHz, levelDb, offsetSec } = events[i];
      if (Math.abs(centsBetween(beforeHz, f0Hz)) > SAME_PITCH_CENTS) continue;
      most = Math.max(most, levelDb + this.at(sec - offsetSec));
    }
    return most;
  }
}

/** Echoes this long after a note's end describe the room; with the fall below they are converted to their level after `ROOM_AT_SEC`. */
const ROOM_SEC: readonly [number, number] = [0.06, 0.3];
/** When the room's level is taken, and a fall of 60 dB a second: a reverberation time of one second (RT60 by definition). */
const ROOM_AT_SEC = 0.15;
const ROOM_FALL_DB_PER_SEC = -60;
/** A second reed that sounds on is not an echo, so this low quantile of what is found is taken: nearly all of it must be louder. */
const ROOM_SHARE = 0.2;
/**
 * Below this level nothing rings on; from `ROOM_DB` up the room colours every partial. [labelled takes: nineteen in twenty dry
 * ones lie below -57 dB; those in rooms above -50 dB]
 */
const DRY_DB = -57;
const ROOM_DB = -42;
/** Assumed if the take does not show it. */
const USUAL_ROOM = 0.6;

/**
 * How much of its room is in a take: 0 is dry, 1 a living room with the microphone at arm's length. Both estimates can only
 * err upwards, because of second reeds and the next note, so the lower one counts.
 * @param echoes  what is left of notes beside the next ones
 * @param tails  what is left of them at all
 */
export function roomShare(echoes: readonly EchoPoint[], tails: readonly EchoPoint[]): number {
  const levels = [roomLevels(echoes), roomLevels(tails)];
  const known = levels.filter(({ length }) => length >= FEWEST_POINTS);
  const told = known.length > 0 ? known : levels.filter(({ length }) => length > 0);
  if (told.length === 0) return USUAL_ROOM;
  const levelDb = Math.min(...told.map((values) => quantile(values, ROOM_SHARE)));
  return Math.max(0, Math.min(1, (levelDb - DRY_DB) / (ROOM_DB - DRY_DB)));
}

function roomLevels(points: readonly EchoPoint[]): number[] {
  return points
    .filter(({ afterSec }) => afterSec > ROOM_SEC[0] && afterSec < ROOM_SEC[1])
    .map(({ afterSec, levelDb }) => levelDb - ROOM_FALL_DB_PER_SEC * (afterSec - ROOM_AT_SEC));
}
