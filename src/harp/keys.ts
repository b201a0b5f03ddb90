import { ReedtraceError } from '../errors.ts';
import type { Layout } from './layouts.ts';

/**
 * Key names from G (lowest) to F# (highest) with the MIDI number of hole-1 blow: G to B start below middle C, C on
 * it, Db to F# above it (https://en.wikipedia.org/wiki/Richter-tuned_harmonica).
 */
export const HARP_KEYS = ['G', 'Ab', 'A', 'Bb', 'B', 'C', 'Db', 'D', 'Eb', 'E', 'F', 'F#'] as const;
const LOWEST_TONIC_MIDI = 55;

/** Pitch-class names as this project prints keys, C first. */
export const KEY_NAMES = ['C', 'Db', 'D', 'Eb', 'E', 'F', 'F#', 'G', 'Ab', 'A', 'Bb', 'B'] as const;

/** Pitch class of each letter without a sign, C = 0. */
export const LETTER_PITCH_CLASS: Readonly<Record<string, number>> = {
  C: 0,
  D: 2,
  E: 4,
  F: 5,
  G: 7,
  A: 9,
  B: 11,
};

/** A harp key that has been read. */
export interface HarpKey {
  /** Canonical name: `C`, `Bb`, `F#`, `low F`, `high G`. */
  readonly key: string;
  /** MIDI number of the hole-1 blow reed, 43 to 78. */
  readonly tonicMidi: number;
}

const KEY_PATTERN = /^(?:(low|high|l|h)[\s-]*)?([A-G])\s*([#b♯♭])?(?:[\s-]+(low|high))?$/i;

/**
 * Reads a harp key, which is the name of the hole-1 blow note: `C`, `Bb`, `bb`, `C#` (= `Db`), `low F`, `LF`,
 * `high G`. Low is an octave below and high an octave above the usual harp of that key.
 * @throws ReedtraceError E_HARP that lists what is allowed
 */
export function parseHarpKey(text: string): HarpKey {
  const match = KEY_PATTERN.exec(text.trim());
  if (!match || (match[1] && match[4])) {
    throw new ReedtraceError(
      'E_HARP',
      `'${text}' is not a harp key`,
      `use one of ${HARP_KEYS.join(', ')}, or one of them with low or high before it, such as "low F"`,
    );
  }
  const register = (match[1] ?? match[4] ?? '').toLowerCase().charAt(0);
  const sign = match[3] ? (match[3] === '#' || match[3] === '♯' ? 1 : -1) : 0;
  const pitchClass = (LETTER_PITCH_CLASS[match[2].toUpperCase()] + sign + 12) % 12;
  return harpKey(pitchClass, register === 'l' ? -1 : register === 'h' ? 1 : 0);
}

/** The harp of this pitch class (0 = C … 11 = B) in the usual (0), low (-1) or high (1) octave. */
export function harpKey(pitchClass: number, register: -1 | 0 | 1 = 0): HarpKey {
  const name = KEY_NAMES[pitchClass];
  const tonicMidi = LOWEST_TONIC_MIDI + (HARP_KEYS as readonly string[]).indexOf(name) + 12 * register;
  return { key: register < 0 ? `low ${name}` : register > 0 ? `high ${name}` : name, tonicMidi };
}

/** The harp whose hole-1 blow reed is this MIDI number; null outside low G (43) to high F# (78). */
export function harpKeyAt(tonicMidi: number): HarpKey | null {
  const candidates = ([-1, 0, 1] as const).map((register) => harpKey(((tonicMidi % 12) + 12) % 12, register));
  return candidates.find((candidate) => candidate.tonicMidi === tonicMidi) ?? null;
}

/**
 * What the maker prints on a harp whose hole-1 blow note is `key`: a natural minor in C range is sold as `G minor`.
 * @param key  as `parseHarpKey` reads it
 */
export function printedLabel(key: string, layout: Layout): string {
  const { key: canonical, tonicMidi } = parseHarpKey(key);
  const register = /^(low|high) /.exec(canonical)?.[0] ?? '';
  const name = KEY_NAMES[(tonicMidi + layout.labelSemitones) % 12];
  return `${register}${name}${layout.labelSuffix === '' ? '' : ` ${layout.labelSuffix}`}`;
}

/** The hole-1 blow key of a harp that is sold with this label: the inverse of `printedLabel`, suffix optional. */
export function keyFromLabel(label: string, layout: Layout): HarpKey {
  const bare = label.trim().replace(/\s*(minor|min|m)$/, '');
  const { key, tonicMidi } = parseHarpKey(bare);
  const register = key.startsWith('low ') ? -1 : key.startsWith('high ') ? 1 : 0;
  return harpKey((((tonicMidi - layout.labelSemitones) % 12) + 12) % 12, register);
}
