import type { Samples } from '../../../audio/samples.ts';
import type { ParallelStage, WorkerPool } from '../../../parallel-stage.ts';
import { quantile } from '../../../statistics.ts';
import { meanOnset, rowOf } from '../../pitch/evidence.ts';
import type { Frames } from '../../pitch/frames.ts';
import { PartialLevel, TICK_SEC, TICKS_PER_FRAME } from '../../pitch/partial-level.ts';
import { pitchContour } from '../contour.ts';
import { type PlacedPitch, SHORTEST } from '../place-onsets.ts';
import { findDips, type Rearticulation } from './dips.ts';
import { findPulse, pulseLogOdds } from './pulse.ts';

/** A sound has ended once its level stays this far below its held level. */
const END_BELOW_DB = 8;
/** Log odds above which a dip is a new note: slightly below even, as a missed re-articulation is as bad as an extra one. */
const REARTICULATION_LOG_ODDS = -0.3;
/** Dips above this are certain enough to find the pulse by. */
const SURE_LOG_ODDS = 2;
/** Dips above this are re-articulations even if a much softer sound follows. */
const BEYOND_DOUBT_LOG_ODDS = 3.5;
const PULSE_WEIGHT = 1;
/** Weaker evidence that a note was struck again is ignored, in nats. */
export const LEAST_AGAIN = -6;
/** No tongue strikes a note again sooner than this, in ticks: 60 ms. */
const FASTEST_REARTICULATION = 12;

/** Evidence that a note was struck again within itself. */
export interface Again {
  /** Log odds, from -6 to -0.3. */
  readonly nats: number;
  readonly sec: number;
}

/** A placed pitch, or one of the notes into which it was split. */
export interface Stretch extends PlacedPitch {
  readonly rearticulated: boolean;
  /** The strongest evidence for a re-articulation within the note that was too weak to split it; absent below -6 nats. */
  readonly again?: Again | undefined;
  /** For a shake whose turns were followed: notes per second. */
  readonly notesPerSec?: number | undefined;
}

/** How a placed pitch sounds: its level tick by tick, in dB re full scale, and where it may have been struck again. */
interface FollowedPitch {
  readonly levelDb: Float32Array;
  readonly dips: readonly Rearticulation[];
}

/** Follows placed pitches through the recording. */
export const FOLLOW_PITCHES: ParallelStage<
  { readonly frames: Frames; readonly placed: readonly PlacedPitch[] },
  FollowedPitch[]
> = {
  name: 'follow pitches',
  chunkSize: 20,
  begin(samples, { frames, placed }) {
    const partialLevel = new PartialLevel(samples);
    return (from, to) =>
      placed.slice(from, to).map(({ midi, fromTick, toTick, set }) => {
        const contour = pitchContour(frames, midi, fromTick, toTick);
        const track = partialLevel.follow(fromTick, contour);
        if (set?.shake === true) return { levelDb: track.levelDb, dips: [] };
        const onsets = onsetTrack(frames, set?.midis ?? [midi], fromTick, toTick);
        const dips = findDips(track, contour).map(({ tick, logOdds }) => ({ tick, logOdds }));
        return { levelDb: track.levelDb, dips: weighOnsets(dips, onsets, contour) };
      });
  },
};

/**
 * Splits held pitches where they were struck again. Doubtful dips count for more on the pulse of the take, which is found
 * from certain onsets.
 */
export async function splitRearticulations(
  samples: Samples,
  frames: Frames,
  placed: readonly PlacedPitch[],
  pause: (fraction: number) => Promise<void>,
  pool: WorkerPool,
): Promise<Stretch[]> {
  const followed = await pool.run(FOLLOW_PITCHES, samples, { frames, placed }, placed.length, pause);
  return splitAtDips(placed, followed.flat());
}

function splitAtDips(whole: readonly PlacedPitch[], followed: readonly FollowedPitch[]): Stretch[] {
  const sure = whole.flatMap(({ fromTick }, i) => [
    fromTick,
    ...followed[i].dips.filter(({ logOdds }) => logOdds > SURE_LOG_ODDS).map(({ tick }) => fromTick + tick),
  ]);
  const pulse = findPulse(sure.slice(1).map((tick, i) => (tick - sure[i]) * TICK_SEC));
  const stretches: Stretch[] = [];
  whole.forEach(({ midi, fromTick, toTick, glide, set }, i) => {
    const { levelDb, dips } = followed[i];
    const next = whole[i + 1]?.fromTick ?? toTick;
    let from = fromTick;
    let again: Again | undefined;
    const push = (to: number): void => {
      const rearticulated = from !== fromTick;
      if (to - from >= SHORTEST) {
        stretches.push({
          midi,
          fromTick: from,
          toTick: to,
          rearticulated,
          ...(again === undefined ? {} : { again }),
          glide: glide && !rearticulated,
          ...(set === undefined ? {} : { set }),
        });
      }
      from = to;
      again = undefined;
    };
    for (const dip of dips) {
      const { tick, logOdds } = dip;
      const at = fromTick + tick;
      const onPulse =
        0.5 * (pulseLogOdds(pulse, (at - from) * TICK_SEC) + pulseLogOdds(pulse, (next - at) * TICK_SEC));
      const odds = logOdds + PULSE_WEIGHT * onPulse;
      if (at - from < FASTEST_REARTICULATION || odds <= (again?.nats ?? LEAST_AGAIN)) continue;
      const isTail = at >= from + soundingTicks(levelDb.subarray(from - fromTick));
      if (odds < REARTICULATION_LOG_ODDS) again = isTail ? again : { nats: odds, sec: at * TICK_SEC };
      else if (!hasStronger(dips, dip) && (!isTail || logOdds > BEYOND_DOUBT_LOG_ODDS)) push(at);
    }
    push(from + soundingTicks(levelDb.subarray(from - fromTick)));
  });
  return stretches;
}

/** Whether a stronger dip follows too soon for both to be strikes: a ripple before the strike, which the onset counts for too. */
const hasStronger = (dips: readonly Rearticulation[], { tick, logOdds }: Rearticulation): boolean =>
  dips.some(
    (other) => other.tick > tick && other.tick - tick < FASTEST_REARTICULATION && other.logOdds > logOdds,
  );

/**
 * Weight of the network's evidence for an onset relative to that of a dip, the value at which it is neutral, and its limit:
 * logistic regression on the dips of development takes.
 */
const ONSET_WEIGHT = 1.1;
const EVEN_ONSET = -0.4;
const MOST_ONSET = 6;
/** An onset of which the network is this sure needs no dip. */
const SURE_ONSET = 1;
const WITHOUT_DIP = -2.5;
/** An onset is searched for within this many frames of the lowest level. */
const ONSET_FRAMES = 4;

/** The network's log odds of an onset, frame by frame: the mean over several pitches. */
function onsetTrack(
  { evidence }: Frames,
  midis: readonly number[],
  fromTick: number,
  toTick: number,
): Float64Array {
  const first = Math.floor(fromTick / TICKS_PER_FRAME);
  const track = new Float64Array(Math.max(1, Math.ceil(toTick / TICKS_PER_FRAME) - first));
  const rows = midis.map((midi) => rowOf(evidence, midi));
  for (let i = 0; i < track.length; i++) track[i] = meanOnset(evidence, rows, first + i);
  return track;
}

/** Adds what the network hears to each dip, and adds onsets without a dip of which it is sure. */
function weighOnsets(
  dips: readonly Rearticulation[],
  onsets: Float64Array,
  contour: Float32Array,
): Rearticulation[] {
  const taken = new Uint8Array(onsets.length);
  const weighed = dips.map(({ tick, logOdds }) => {
    const frame = Math.round(tick / TICKS_PER_FRAME);
    const from = Math.max(0, frame - ONSET_FRAMES + 1);
    const to = Math.max(from, frame + ONSET_FRAMES + 1);
    taken.fill(1, from, to);
    const heard = highestOf(onsets, from, to);
    const best = isMoving(contour, tick) ? Math.min(heard, EVEN_ONSET) : heard;
    return { tick, logOdds: logOdds + ONSET_WEIGHT * (Math.min(MOST_ONSET, best) - EVEN_ONSET) };
  });
  for (let i = 3; i < onsets.length - 3; i++) {
    if (onsets[i] < SURE_ONSET || taken[i] === 1 || !isPeak(onsets, i)) continue;
    if (isMoving(contour, i * TICKS_PER_FRAME)) continue;
    weighed.push({ tick: i * TICKS_PER_FRAME, logOdds: WITHOUT_DIP + onsets[i] });
  }
  return weighed.sort((a, b) => a.tick - b.tick);
}

/** The highest onset in frames [from, to), as far as they exist, or the limit below which none counts. */
function highestOf(onsets: Float64Array, from: number, to: number): number {
  let best = -MOST_ONSET;
  for (let i = from; i < Math.min(to, onsets.length); i++) if (onsets[i] > best) best = onsets[i];
  return best;
}

const isPeak = (onsets: Float64Array, i: number): boolean =>
  onsets[i] >= Math.max(onsets[i - 1], onsets[i + 1], onsets[i - 2], onsets[i + 2]);

/** A pitch that moves this far within 60 ms on each side crosses the network's rows, and seems to begin there without an onset. */
const MOVING_SEMITONES = 0.4;
const MOVING_TICKS = 12;

function isMoving(contour: Float32Array, tick: number): boolean {
  let lowest = Number.POSITIVE_INFINITY;
  let highest = Number.NEGATIVE_INFINITY;
  for (let t = Math.max(0, tick - MOVING_TICKS); t < Math.min(contour.length, tick + MOVING_TICKS); t++) {
    lowest = Math.min(lowest, contour[t]);
    highest = Math.max(highest, contour[t]);
  }
  return highest - lowest > MOVING_SEMITONES;
}

/** Ticks until the level falls away for good. */
function soundingTicks(level: Float32Array): number {
  const held = quantile(level, 0.75);
  let end = level.length;
  while (end > 1 && level[end - 1] < held - END_BELOW_DB) end--;
  return end;
}
