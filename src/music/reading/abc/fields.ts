import { LIMITS } from '../../../limits.ts';
import type { Melody } from '../../melody.ts';
import { musicError } from '../fault.ts';
import { withAccents } from './accents.ts';
import { type AbcKey, parseAbcKey } from './key.ts';
import { fraction } from './tokens.ts';

/** The fields of a tune read so far (ABC 2.1, section 3): title, metre, unit, tempo and key. */
export class AbcFields {
  readonly #file: string;
  #unit: number | null = null;
  title: string | null = null;
  metre: Melody['metre'] = null;
  /** The first tempo in quarter notes a minute; null if none is given. */
  beatsPerMinute: number | null = null;
  key: AbcKey | null = null;
  /** Pitch class of the first keynote, as it sounds. */
  tonic: number | null = null;

  /** @param file  what to call the file in an error */
  constructor(file: string) {
    this.#file = file;
  }

  /** True once a key was given, which ends the tune's header. */
  get inTune(): boolean {
    return this.key !== null;
  }

  /** Unit note length in whole notes; by default 1/8, or 1/16 in metres shorter than 3/4. */
  get unitLength(): number {
    if (this.#unit !== null) return this.#unit;
    return this.metre && this.metre.count / this.metre.unit < 0.75 ? 1 / 16 : 1 / 8;
  }

  /**
   * Reads one field; those that say nothing about the melody are skipped.
   * @param line  its number in the file, from 1
   * @throws ReedtraceError E_MUSIC_INVALID for an invalid key
   */
  read(letter: string, written: string, line: number): void {
    const value = written.slice(0, LIMITS.textLength.most);
    switch (letter) {
      case 'T':
        this.title ??= value === '' ? null : withAccents(value).replace(/\\([\\%])/g, '$1');
        break;
      case 'M':
        this.#readMetre(value);
        break;
      case 'L':
        this.#unit = fraction(value) ?? this.#unit;
        break;
      case 'Q':
        this.#readTempo(value);
        break;
      case 'K':
        this.#readKey(value, line);
        break;
    }
  }

  #readMetre(value: string): void {
    const metre =
      value === 'C' ? [4, 4] : value === 'C|' ? [2, 2] : /^(\d+)\/(\d+)/.exec(value)?.slice(1).map(Number);
    if (metre && metre[0] > 0 && metre[1] > 0) this.metre = { count: metre[0], unit: metre[1] };
  }

  #readTempo(value: string): void {
    const match = /(?:(\d+\/\d+)\s*=\s*)?(\d+(?:\.\d+)?)\s*$/.exec(value.replace(/"[^"]*"/g, '').trim());
    if (!match || this.beatsPerMinute !== null || !(Number(match[2]) > 0)) return;
    // Without a length (an old style), the tempo counts unit notes.
    const length = (match[1] ? fraction(match[1]) : this.unitLength) ?? 0.25;
    this.beatsPerMinute = Number(match[2]) * length * 4;
  }

  #readKey(value: string, line: number): void {
    const key = parseAbcKey(value);
    if (!key) {
      throw musicError(this.#file, `line ${line}: '${value}' is not a key`, 'write K: as in K:G or K:Am');
    }
    if (!this.inTune && key.tonic !== null) this.tonic = (((key.tonic + key.shift) % 12) + 12) % 12;
    this.key = key;
  }
}
