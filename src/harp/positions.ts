import { ReedtraceError } from '../errors.ts';
import { KEY_NAMES } from './keys.ts';

/** Semitones between neighbouring positions: a fifth. */
const FIFTH = 7;
const ORDINALS = '1st 2nd 3rd 4th 5th 6th 7th 8th 9th 10th 11th 12th'.split(' ');
const WORDS = 'first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth'.split(' ');
/** The names that players give to some positions (straight, cross: Wikipedia; slant: common practice, no source). */
const NICKNAMES: Readonly<Record<number, string>> = { 1: 'straight', 2: 'cross', 3: 'slant' };

/**
 * Position of a tune on a harp, 1 to 12: steps along the circle of fifths from the harp's key to the tune's
 * (https://harp-l.org/pipermail/harp-l/1994-July/msg00019.html).
 * @param tonic  pitch class of the tune's keynote, 0 = C … 11 = B; any integer
 * @param harp  pitch class of hole-1 blow; any integer
 */
export function positionOf(tonic: number, harp: number): number {
  // 7 is its own inverse modulo 12.
  return modulo12(FIFTH * (tonic - harp)) + 1;
}

/** Pitch class of the keynote of a position, 0 to 11. */
export function tonicOfPosition(position: number, harp: number): number {
  return modulo12(harp + FIFTH * (position - 1));
}

/** `2nd position (cross)`. */
export function positionName(position: number): string {
  const nickname = NICKNAMES[position];
  return `${ORDINALS[position - 1]} position${nickname ? ` (${nickname})` : ''}`;
}

/**
 * Reads `2`, `2nd`, `second`, `cross`, `2nd position`.
 * @throws ReedtraceError E_USAGE
 */
export function parsePosition(text: string): number {
  const plain = text
    .trim()
    .toLowerCase()
    .replace(/\s+position$/, '');
  for (let position = 1; position <= 12; position++) {
    const names = [
      String(position),
      ORDINALS[position - 1],
      WORDS[position - 1],
      NICKNAMES[position],
      position === 3 ? 'double cross' : undefined,
    ];
    if (names.includes(plain)) return position;
  }
  throw new ReedtraceError(
    'E_USAGE',
    `'${text}' is not a position`,
    'use a number from 1 to 12, or straight, cross, slant',
  );
}

/** Reads the name of a keynote such as `G`, `Bb`, `f#`. @returns pitch class 0 to 11, or null */
export function parsePitchClass(text: string): number | null {
  const match = /^([A-G])([#b♯♭]?)$/i.exec(text.trim());
  if (!match) return null;
  const natural = KEY_NAMES.indexOf(match[1].toUpperCase() as (typeof KEY_NAMES)[number]);
  return modulo12(natural + (match[2] === '' ? 0 : match[2] === '#' || match[2] === '♯' ? 1 : -1));
}

function modulo12(value: number): number {
  return ((value % 12) + 12) % 12;
}
