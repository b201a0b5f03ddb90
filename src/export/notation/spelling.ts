/** A written pitch: letter, alteration in semitones, octave (middle C is C4). */
export interface Spelled {
  readonly step: 'A' | 'B' | 'C' | 'D' | 'E' | 'F' | 'G';
  readonly alter: number;
  readonly octave: number;
}

/** Letters along the circle of fifths, from F. */
const FIFTHS_LETTERS = 'FCGDAEB';
/** Chromatic notes of a key are spelled as flats, except the raised fourth (common practice, no source). */
const LOWEST_FIFTH = -5;

const modulo = (value: number, by: number): number => ((value % by) + by) % by;

/**
 * Spells a pitch in a key: scale notes as they are, the others within five fifths below the keynote and six above.
 * @param fifths  of the signature, -6 to 6
 */
export function spell(midi: number, fifths: number): Spelled {
  // C is at 0 on the circle of fifths; a fifth is seven semitones, and seven is its own inverse modulo 12.
  const lowest = fifths + LOWEST_FIFTH;
  const place = lowest + modulo(7 * midi - lowest, 12);
  const step = FIFTHS_LETTERS[modulo(place + 1, 7)] as Spelled['step'];
  const alter = Math.floor((place + 1) / 7);
  return { step, alter, octave: Math.floor((midi - alter) / 12) - 1 };
}

/** How a key signature alters a letter: 1, 0 or -1. */
export function signatureAlter(step: string, fifths: number): number {
  const place = FIFTHS_LETTERS.indexOf(step);
  if (fifths > 0) return place < fifths ? 1 : 0;
  return 6 - place < -fifths ? -1 : 0;
}

/**
 * The key signature that leaves the fewest accidentals, weighted by duration; among equals, that of the major key on
 * the keynote, then the smallest.
 * @returns -6 to 6; 0 for no notes
 */
export function bestSignature(
  notes: readonly { midi: number; durationBeats: number }[],
  tonic: number,
): number {
  const own = modulo(7 * tonic + 5, 12) - 5;
  let best = 0;
  let bestCost = Number.POSITIVE_INFINITY;
  for (let fifths = -5; fifths <= 6; fifths++) {
    // Scale notes lie from one fifth below the keynote to five above.
    let outside = 0;
    for (const { midi, durationBeats } of notes)
      if (modulo(7 * midi - fifths + 1, 12) > 6) outside += durationBeats;
    const cost = outside + (fifths === own ? 0 : 1e-3) + Math.abs(fifths) * 1e-4;
    if (cost < bestCost) {
      bestCost = cost;
      best = fifths;
    }
  }
  return best;
}

/** Name of the major key with this signature, as `Bb` or `F#`. */
export function majorKeyName(fifths: number): string {
  const letter = FIFTHS_LETTERS[modulo(fifths + 1, 7)];
  const alter = Math.floor((fifths + 1) / 7);
  return `${letter}${alter > 0 ? '#' : alter < 0 ? 'b' : ''}`;
}
