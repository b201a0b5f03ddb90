/**
 * The axis of pitch evidence: fundamental frequencies in equal steps of log frequency, from below the lowest reed of a low C
 * harp (130.8 Hz) to above the highest overdraw of a high G (3322 Hz).
 */
export const STEPS_PER_SEMITONE = 10;
const LOWEST_MIDI = 46;
const HIGHEST_MIDI = 105;

/** Number of steps on the axis. */
export const GRID_SIZE = (HIGHEST_MIDI - LOWEST_MIDI) * STEPS_PER_SEMITONE + 1;

/** Steps in an octave. */
export const STEPS_PER_OCTAVE = 12 * STEPS_PER_SEMITONE;

/** Real-valued MIDI number (A4 = 440 Hz = 69) of a real-valued step. */
export function stepToMidi(step: number): number {
  return LOWEST_MIDI + step / STEPS_PER_SEMITONE;
}

/** Real-valued step of a real-valued MIDI number. */
export function midiToStep(midi: number): number {
  return (midi - LOWEST_MIDI) * STEPS_PER_SEMITONE;
}
