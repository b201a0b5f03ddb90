import { CANDIDATES, type Frames } from '../pitch/frames.ts';
import { TICK_SEC } from '../pitch/partial-level.ts';

/** How far a candidate may lie from the decoded pitch and still belong to it, in semitones. */
const REACH_SEMITONES = 1.2;
const WEAKEST_STRENGTH = 0.8;
/** The pitch is smoothed by a median over this many ticks on each side. */
const SMOOTH_TICKS = 5;
/** The pitch is at rest while it stays within this many semitones. */
const REST_SEMITONES = 0.2;

/**
 * The pitch of a stretch tick by tick, from the candidates nearest to the decoded pitch, smoothed by a running median. Ticks
 * where it was not heard take the value of their neighbours.
 * @returns real-valued MIDI numbers (A4 = 440 Hz), one for each tick of [fromTick, toTick)
 */
export function pitchContour(frames: Frames, midi: number, fromTick: number, toTick: number): Float32Array {
  const count = toTick - fromTick;
  const heard = new Float32Array(count);
  for (let i = 0; i < count; i++)
    heard[i] = nearestCandidate(frames, frameAtTick(frames, fromTick + i), midi);
  const contour = new Float32Array(count);
  const around = new Float64Array(2 * SMOOTH_TICKS + 1);
  let last = midi;
  for (let i = 0; i < count; i++) {
    let found = 0;
    const to = Math.min(count - 1, i + SMOOTH_TICKS);
    for (let k = Math.max(0, i - SMOOTH_TICKS); k <= to; k++) {
      const pitch = heard[k];
      if (!(pitch > 0)) continue;
      // Insertion sort.
      let place = found++;
      for (; place > 0 && around[place - 1] > pitch; place--) around[place] = around[place - 1];
      around[place] = pitch;
    }
    const middle = found >> 1;
    if (found % 2 === 1) last = around[middle];
    else if (found > 0) last = (around[middle - 1] + around[middle]) / 2;
    contour[i] = last;
  }
  return contour;
}

/** The frame that contains a tick. */
export function frameAtTick(frames: Frames, tick: number): number {
  return Math.min(frames.count - 1, Math.round((tick * TICK_SEC) / frames.hopSec));
}

/** Pitch of the strongest candidate within reach of `midi`; 0 if there is none. */
function nearestCandidate(frames: Frames, frame: number, midi: number): number {
  const first = frame * CANDIDATES;
  for (let c = first; c < first + CANDIDATES; c++) {
    if (frames.candidateStrength[c] < WEAKEST_STRENGTH) return 0;
    if (Math.abs(frames.candidateMidi[c] - midi) < REACH_SEMITONES) return frames.candidateMidi[c];
  }
  return 0;
}

/** Length of the longest run of values that stay within a fifth of a semitone; NaN, where nothing is heard, does not end a run. */
export function longestRest(contourMidi: Float32Array): number {
  let longest = 0;
  for (let from = 0; from < contourMidi.length; from++) {
    let lowest = Number.POSITIVE_INFINITY;
    let highest = Number.NEGATIVE_INFINITY;
    let to = from;
    for (; to < contourMidi.length; to++) {
      if (Number.isNaN(contourMidi[to])) continue;
      lowest = Math.min(lowest, contourMidi[to]);
      highest = Math.max(highest, contourMidi[to]);
      if (highest - lowest > REST_SEMITONES) break;
    }
    longest = Math.max(longest, to - from);
  }
  return longest;
}
