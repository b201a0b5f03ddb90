import { TICKS_PER_BEAT } from './metre.ts';
import { clockSec, type HeardOnset, type MetricalPath } from './metrical-hmm.ts';
import { clockMayStand, timeScore } from './time-scores.ts';

const SIXTEENTH = TICKS_PER_BEAT / 4;
/** A time may be re-read with the bars if another length is less likely by no more than this, in natural log. */
const DOUBT = 4;

/** For each note, whether the time before it may be re-read when bars are placed: its length is in doubt, or the clock may have stopped. */
export function mayBeReread(onsets: readonly HeardOnset[], path: MetricalPath): boolean[] {
  const { atTicks, beatSec } = path;
  return clockMayStand(onsets).map((mayStand, n) => {
    if (mayStand || n === 0) return mayStand;
    const sec = clockSec(onsets, path, n);
    const score = (ticks: number) => timeScore(sec, (ticks / TICKS_PER_BEAT) * beatSec[n], 0);
    const read = atTicks[n] - atTicks[n - 1];
    const least = score(read) - DOUBT;
    return score(read + SIXTEENTH) > least || (read > SIXTEENTH && score(read - SIXTEENTH) > least);
  });
}
