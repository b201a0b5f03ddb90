import type { SoundEvent } from './events.ts';

/**
 * Weights of a logistic model that tells played notes from voiced speech, noise and handling, fitted by
 * tests/bench/fit-played.ts on the development takes and on recordings without playing.
 */
const WEIGHTS = { logLength: 2.11, harmonicity: 1.34, strength: 3.09, logJitter: -1.88, bias: -9.01 };
const LEAST_JITTER = 0.003;
const SHORTEST_SEC = 0.01;

/**
 * Log odds that an event is a played note: a reed holds its pitch within some cents from one hundredth of a second
 * to the next and sounds in many partials; a voice glides and has few above the noise.
 */
export function playedLogOdds(event: SoundEvent): number {
  return (
    WEIGHTS.bias +
    WEIGHTS.logLength * Math.log(Math.max(SHORTEST_SEC, event.offsetSec - event.onsetSec)) +
    (WEIGHTS.harmonicity * event.harmonicityDb) / 10 +
    WEIGHTS.strength * event.strength +
    WEIGHTS.logJitter * Math.log(pitchJitter(event.contourMidi) + LEAST_JITTER)
  );
}

/** Mean step of the pitch from one contour point to the next, in semitones; a semitone when it can't be told. */
export function pitchJitter(contourMidi: Float32Array): number {
  let sum = 0;
  let steps = 0;
  let last = Number.NaN;
  for (const midi of contourMidi) {
    if (!Number.isNaN(midi) && !Number.isNaN(last)) {
      sum += Math.abs(midi - last);
      steps++;
    }
    if (!Number.isNaN(midi)) last = midi;
  }
  return steps > 0 ? sum / steps : 1;
}
