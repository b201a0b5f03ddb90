import { TICKS_PER_BEAT } from './metre.ts';
import { clockSec, type HeardOnset, type MetricalPath } from './metrical-hmm.ts';
import { clockMayStand, timeScore } from './time-scores.ts';

const SIXTEENTH = TICKS_PER_BEAT / 4;
/** A time that would do as another length, too, at so much less in natural log, may be read anew with the bars. */
const DOUBT = 4;

/** For each note, true where the time before it may be read anew when bars are put to it: the clock may stand still, or it is in doubt. */
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
