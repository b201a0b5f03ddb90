import { type BarPlan, TICKS_PER_BEAT } from './metre.ts';
import { clockSec, type HeardOnset, type MetricalPath } from './metrical-hmm.ts';
import { mayBeReread } from './rereading.ts';
import { TEMPO_KEEP, TEMPO_MOVE } from './tempo.ts';
import { timeScore } from './time-scores.ts';

/** Onsets as read on one bar plan. */
export interface Reading {
  readonly plan: BarPlan;
  readonly path: MetricalPath;
  /** Natural log of prior times likelihood. */
  readonly score: number;
}

/** Readings whose pulses differ by less than this, in natural log, differ only in their bars. */
const SAME_PULSE_LN = 0.1;
/** Readings less likely than the best one by this, in natural log, are dropped before bars are placed. */
const PULSE_BEAM = 40;

/** The best reading of each pulse (a pulse and its double; in two and in three, as a jig and a shuffle), likeliest first. */
export function bestOfPulses(onsets: readonly HeardOnset[], readings: readonly Reading[]): Reading[] {
  const best: Reading[] = [];
  const pulses: { readonly ticks: number; readonly lnSec: number }[] = [];
  for (const reading of readings.toSorted((a, b) => b.score - a.score)) {
    if (best.length > 0 && reading.score < best[0].score - PULSE_BEAM) break;
    const ticks = reading.plan.pulseTicks;
    const lnSec = Math.log(ticks / meanTempo(onsets, reading.path));
    const isSame = (pulse: (typeof pulses)[number]) => Math.abs(pulse.lnSec - lnSec) < SAME_PULSE_LN;
    if (pulses.some((pulse) => pulse.ticks === ticks && isSame(pulse))) continue;
    best.push(reading);
    pulses.push({ ticks, lnSec });
  }
  return best;
}

/** Natural log of prior times likelihood of the onset times of a path, except the times that are re-read together with its bars. */
export function timesScore(onsets: readonly HeardOnset[], path: MetricalPath): number {
  let sum = 0;
  const { atTicks, beatSec } = path;
  const placed = mayBeReread(onsets, path);
  for (let n = 1; n < onsets.length; n++) {
    if (placed[n]) continue;
    sum += timeScore(
      clockSec(onsets, path, n),
      ((atTicks[n] - atTicks[n - 1]) / TICKS_PER_BEAT) * beatSec[n],
      0,
    );
    sum += beatSec[n] === beatSec[n - 1] ? TEMPO_KEEP : TEMPO_MOVE;
  }
  return sum;
}

/** Quarter notes a minute: the mean over all stretches between onsets without a rest; the decoder's own tempo if there are none. */
export function meanTempo(onsets: readonly HeardOnset[], path: MetricalPath): number {
  let ticks = 0;
  let sec = 0;
  for (let i = 1; i < onsets.length; i++) {
    if (onsets[i].restSec > 0) continue;
    ticks += path.atTicks[i] - path.atTicks[i - 1];
    sec += onsets[i].onsetSec - onsets[i - 1].onsetSec;
  }
  const bpm = ticks > 0 ? (60 * ticks) / TICKS_PER_BEAT / sec : 60 / path.beatSec[0];
  return Math.round(bpm * 10) / 10;
}
