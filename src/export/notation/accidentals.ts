import { signatureAlter, spell } from './spelling.ts';
import type { StaffSymbol } from './staff-symbols.ts';

/** An accidental that is printed, as MusicXML names it. */
export type Accidental = 'sharp' | 'flat' | 'natural' | 'double-sharp' | 'flat-flat';

const NAMES: Readonly<Record<number, Accidental>> = {
  [-2]: 'flat-flat',
  [-1]: 'flat',
  0: 'natural',
  1: 'sharp',
  2: 'double-sharp',
};

/**
 * Accidentals of the symbols of a bar: one applies to its line of the staff to the end of the bar; a tied continuation
 * has none (E. Gould, Behind Bars, 2011, "Accidentals").
 * @param fifths  of the key signature, -6 to 6
 * @returns for each symbol, the accidental before each of its pitches, lowest first; null for none
 */
export function accidentalsOf(symbols: readonly StaffSymbol[], fifths: number): (Accidental | null)[][] {
  const held = new Map<string, number>();
  return symbols.map(({ note, tiedFrom }) =>
    (note?.midis ?? []).map((midi) => {
      const { step, alter, octave } = spell(midi, fifths);
      const line = `${step}${octave}`;
      if (tiedFrom || (held.get(line) ?? signatureAlter(step, fifths)) === alter) return null;
      held.set(line, alter);
      return NAMES[alter];
    }),
  );
}
