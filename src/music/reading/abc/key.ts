import { LETTER_PITCH_CLASS } from '../../../harp/keys.ts';
import { aboveMajor } from '../modes.ts';

/** The content of a `K:` field. */
export interface AbcKey {
  /** Pitch class of the keynote; null for `none` and bagpipe keys. */
  readonly tonic: number | null;
  /** Semitones by letter: 1 sharp, -1 flat; letters without a sign are missing. */
  readonly signature: ReadonlyMap<string, number>;
  /** Semitones that `transpose=` and `octave=` add to the written pitch. */
  readonly shift: number;
}

const SHARPS = 'FCGDAEB';
const SIGN_SEMITONES: Readonly<Record<string, number>> = { '^': 1, _: -1, '=': 0 };

/** Reads the value of a `K:` field (ABC 2.1, sections 3.1.14 and 4.6). @returns null if it is not a key */
export function parseAbcKey(text: string): AbcKey | null {
  const shift =
    Number(/\btranspose=(-?\d+)/.exec(text)?.[1] ?? 0) + 12 * Number(/\boctave=(-?\d+)/.exec(text)?.[1] ?? 0);
  const bare = text.replace(/\b(?:clef|middle|transpose|octave|stafflines|staffscale)=\S+/g, '').trim();
  if (bare === '' || /^none\b/i.test(bare)) return { tonic: null, signature: new Map(), shift };
  if (/^H[Pp]\b/.test(bare)) return { tonic: null, signature: signatureOf(2), shift };
  const match = /^([A-G])([#b]?)\s*([A-Za-z]*)(.*)$/.exec(bare);
  if (!match) return null;
  const tonic = (LETTER_PITCH_CLASS[match[1]] + (match[2] === '#' ? 1 : match[2] === 'b' ? -1 : 0) + 12) % 12;
  const word = match[3].toLowerCase();
  const isMode = word === '' || word === 'm' || aboveMajor(word) !== null;
  const mode = word === 'm' ? 'min' : word === '' || !isMode ? 'maj' : word;
  const explicit = word === 'exp';
  // A signature has two spellings: take the one whose keynote is the letter written.
  const sharps = [-7, -6, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7].find((fifths) => {
    const sameNote = (((7 * fifths + (aboveMajor(mode) ?? 0)) % 12) + 12) % 12 === tonic;
    return sameNote && signedLetter(match[1], fifths) === (match[2] === '#' ? 1 : match[2] === 'b' ? -1 : 0);
  });
  if (sharps === undefined && !explicit) return null;
  const signature = new Map(explicit ? [] : signatureOf(sharps!));
  for (const [, signs, letter] of match[4].matchAll(/(\^{1,2}|_{1,2}|=)([A-Ga-g])/g)) {
    signature.set(letter.toUpperCase(), SIGN_SEMITONES[signs[0]] * signs.length);
  }
  return { tonic, signature, shift };
}

function signatureOf(fifths: number): Map<string, number> {
  const letters = fifths >= 0 ? SHARPS.slice(0, fifths) : [...SHARPS].reverse().slice(0, -fifths);
  return new Map([...letters].map((letter) => [letter, Math.sign(fifths)]));
}

function signedLetter(letter: string, fifths: number): number {
  return signatureOf(fifths).get(letter) ?? 0;
}
