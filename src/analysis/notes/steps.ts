import { median, quantile } from '../../statistics.ts';

/** The pitch must be held this long on each side of a step, in ticks: 150 ms. Vibrato and scoops are never still for so long. */
const HELD = 30;
/** Ticks on each side in which the pitch may move from one to the other. */
const WAY = 8;
/** The least distance between the two pitches, and how much each may waver (ignoring a tenth at each end), in semitones. */
const LEAST_SEMITONES = 0.3;
const MOST_WAVER_SEMITONES = 0.12;
const EDGE = 0.1;

/**
 * Where a held pitch moves to a nearby one and holds that: a bend that was released or deepened by less than the decoder
 * needs to hear two pitches.
 * @param midi  pitch of each tick (5 ms), real-valued MIDI
 * @returns ticks at which the pitch is half-way, in order; none if the pitch is steady, drifts, or wavers
 */
export function findSteps(midi: Float32Array): number[] {
  const steps: number[] = [];
  let best: { tick: number; size: number } | null = null;
  for (let tick = HELD + WAY; tick <= midi.length - HELD - WAY; tick++) {
    const size = stepAt(midi, tick);
    if (size > (best?.size ?? 0)) best = { tick, size };
    if (best !== null && (tick - best.tick >= WAY || tick === midi.length - HELD - WAY)) {
      steps.push(halfWay(midi, best.tick));
      best = null;
      tick += HELD;
    }
  }
  return steps;
}

/** How far the pitch moves at a tick between two held pitches, in semitones; 0 if one of them is not held, or they are too close. */
function stepAt(midi: Float32Array, tick: number): number {
  // Two values rule out most ticks.
  if (Math.abs(midi[tick + WAY + HELD / 2] - midi[tick - WAY - HELD / 2]) < LEAST_SEMITONES / 2) return 0;
  const [before, after] = sidesOf(midi, tick);
  const size = Math.abs(median(after) - median(before));
  return size >= LEAST_SEMITONES && isHeld(before) && isHeld(after) ? size : 0;
}

function sidesOf(midi: Float32Array, tick: number): [before: Float32Array, after: Float32Array] {
  return [midi.subarray(tick - WAY - HELD, tick - WAY), midi.subarray(tick + WAY, tick + WAY + HELD)];
}

function isHeld(midi: Float32Array): boolean {
  return quantile(midi, 1 - EDGE) - quantile(midi, EDGE) <= MOST_WAVER_SEMITONES;
}

/** The tick at which the pitch is closest to half-way; the search extends further forward, as a step is first seen before its middle. */
function halfWay(midi: Float32Array, tick: number): number {
  const [before, after] = sidesOf(midi, tick);
  const middle = (median(before) + median(after)) / 2;
  let nearest = tick;
  for (let k = tick - WAY; k < tick + 2 * WAY; k++) {
    if (Math.abs(midi[k] - middle) < Math.abs(midi[nearest] - middle)) nearest = k;
  }
  return nearest;
}
