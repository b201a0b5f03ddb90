/** The unit of which the times from note to note are multiples, as far as they are. */
export interface Pulse {
  readonly periodSec: number;
  /** Share of the note-to-note times that fit, beyond what would fit by chance, [0, 1]. */
  readonly share: number;
}

/** Pulses that are tried: 430 to 50 a minute, in steps of 1 %. Set by hand, no source. */
const SHORTEST_SEC = 0.14;
const LONGEST_SEC = 1.2;
const STEP_RATIO = 1.01;
/** How precisely players keep their own pulse, in seconds. */
const SPREAD_SEC = 0.03;
const FEWEST_TIMES = 6;
/** Longer times are ignored: the error grows with their length. */
const LONGEST_TIME_SEC = 2.5;

/**
 * Finds the pulse that explains the times between onsets best: for each period, the share of times that are close to a
 * multiple of it, minus the share expected by chance. Of nearly equal ones it takes the longest, which says most.
 * @param timesSec  note-to-note times in seconds
 * @returns null if there are too few times or no pulse fits
 */
export function findPulse(timesSec: readonly number[]): Pulse | null {
  const times = Float64Array.from(
    timesSec.filter((time) => time > SHORTEST_SEC / 2 && time < LONGEST_TIME_SEC),
  );
  if (times.length < FEWEST_TIMES) return null;
  let best: Pulse | null = null;
  let bestScore = 0;
  for (let periodSec = SHORTEST_SEC; periodSec <= LONGEST_SEC; periodSec *= STEP_RATIO) {
    const chance = Math.min(0.95, (2.5 * SPREAD_SEC) / periodSec);
    const share = (fitting(times, periodSec) / times.length - chance) / (1 - chance);
    const score = share * Math.sqrt(-Math.log(chance));
    if (score > bestScore) {
      bestScore = score;
      best = { periodSec, share: Math.max(0, share) };
    }
  }
  return best;
}

/**
 * How much more likely a note is to begin `afterSec` after another one than by chance, as log odds: positive on the pulse,
 * negative off it, near 0 if the take has no steady pulse.
 */
export function pulseLogOdds(pulse: Pulse | null, afterSec: number): number {
  if (pulse === null) return 0;
  const { periodSec, share } = pulse;
  const density =
    (Math.exp(-0.5 * (offPulse(afterSec, periodSec) / SPREAD_SEC) ** 2) * periodSec) / (2.5 * SPREAD_SEC);
  return Math.log(share * density + (1 - share));
}

/** How many times fit a pulse, counting each by how well it does. */
function fitting(times: Float64Array, periodSec: number): number {
  let sum = 0;
  for (let i = 0; i < times.length; i++)
    sum += Math.exp(-0.5 * (offPulse(times[i], periodSec) / SPREAD_SEC) ** 2);
  return sum;
}

function offPulse(time: number, periodSec: number): number {
  const beats = Math.max(1, Math.round(time / periodSec));
  return Math.abs(time - beats * periodSec);
}
