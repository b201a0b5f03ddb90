/** Pitch and level conversions; nothing else in the project converts by hand. */

/** MIDI number of A4 and the frequency it has in ISO 16:1975. */
export const A4_MIDI = 69;
export const ISO_A4_HZ = 440;

/** Frequency of a real-valued MIDI number at a given A4. */
export function midiToHz(midi: number, a4Hz: number = ISO_A4_HZ): number {
  return a4Hz * 2 ** ((midi - A4_MIDI) / 12);
}

/** Real-valued MIDI number of a frequency (> 0) at a given A4. */
export function hzToMidi(f0Hz: number, a4Hz: number = ISO_A4_HZ): number {
  return A4_MIDI + 12 * Math.log2(f0Hz / a4Hz);
}

/** How far `measuredHz` lies above `targetHz`, in cents. */
export function centsBetween(measuredHz: number, targetHz: number): number {
  return 1200 * Math.log2(measuredHz / targetHz);
}

/** Level of an amplitude ratio in dB (20 log10); -Infinity for 0. */
export function amplitudeToDb(ratio: number): number {
  return 20 * Math.log10(ratio);
}

/** Level of a power ratio in dB (10 log10); -Infinity for 0. */
export function powerToDb(ratio: number): number {
  return 10 * Math.log10(ratio);
}
