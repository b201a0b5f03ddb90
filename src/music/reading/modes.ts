/** Semitones from the major keynote of the same signature up to the mode's own, by the first three letters of the mode. */
const SEMITONES: Readonly<Record<string, number>> = {
  maj: 0,
  ion: 0,
  dor: 2,
  phr: 4,
  lyd: 5,
  mix: 7,
  min: 9,
  aeo: 9,
  loc: 11,
};

/**
 * How far the keynote of a mode lies above the major keynote with the same signature.
 * @param mode  its name or at least the first three letters, as in ABC and MusicXML: `minor`, `Dor`
 * @returns semitones, 0 to 11; null if it is not a mode
 */
export function aboveMajor(mode: string): number | null {
  return SEMITONES[mode.toLowerCase().slice(0, 3)] ?? null;
}
