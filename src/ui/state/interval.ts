/** Names of intervals within an octave, by semitones. */
const NAMES = [
  'a unison',
  'a semitone',
  'a tone',
  'a minor third',
  'a third',
  'a fourth',
  'a tritone',
  'a fifth',
  'a minor sixth',
  'a sixth',
  'a minor seventh',
  'a seventh',
] as const;

/** An interval in words, to the nearest semitone: `a fifth`, `an octave and a third`; without its direction. */
export function intervalName(semitones: number): string {
  const whole = Math.abs(Math.round(semitones));
  const octaves = Math.floor(whole / 12);
  const rest = whole % 12;
  if (octaves === 0) return NAMES[rest];
  const far = octaves === 1 ? 'an octave' : `${octaves} octaves`;
  return rest === 0 ? far : `${far} and ${NAMES[rest]}`;
}
