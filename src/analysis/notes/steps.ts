import { median, quantile } from '../../statistics.ts';

/** Ticks that the pitch must hold on each side of a step: 150 ms. Vibrato and scoops never hold still for so long. */
const HELD = 30;
/** Ticks on each side that the way from one to the other may take. */
const WAY = 8;
/** How far apart the two must lie, and how much each may waver (all but a tenth at each end), in semitones. */
const LEAST_SEMITONES = 0.3;
const MOST_WAVER_SEMITONES = 0.12;
const EDGE = 0.1;

/**
 * Where a held pitch moves to another one near it and holds that: a bend that was let go, or pressed on, by less than
 * the decoder needs to see two pitches.
 * @param midi pitch of each tick (5 ms), real-valued MIDI
 * @returns ticks at which the pitch is half-way, in order; none in a pitch that is held, drifts, or wavers
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

/** How far the pitch moves at a tick between two that are held, in semitones; 0 when one of them is not, or too near. */
function stepAt(midi: Float32Array, tick: number): number {
  // Most ticks are turned away by two values of the many.
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

/** The tick at which the pitch is nearest to the middle of both; a step is seen from its beginning on. */
function halfWay(midi: Float32Array, tick: number): number {
  const [before, after] = sidesOf(midi, tick);
  const middle = (median(before) + median(after)) / 2;
  let nearest = tick;
  for (let k = tick - WAY; k < tick + 2 * WAY; k++) {
    if (Math.abs(midi[k] - middle) < Math.abs(midi[nearest] - middle)) nearest = k;
  }
  return nearest;
}
