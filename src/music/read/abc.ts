import type { Melody } from '../melody.ts';
import { pickupOf } from '../metre.ts';
import { type AbcKey, parseAbcKey } from './abc-key.ts';
import { CHORD_NOTE, fraction, fractionOf, TOKEN } from './abc-tokens.ts';
import { alignWords, type SungNote } from './abc-words.ts';
import { decodeText, musicError } from './fault.ts';
import { droppedRemark, oneVoice, type RawNote } from './voice.ts';

const LETTER_PITCH_CLASS: Readonly<Record<string, number>> = { C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 };
/** MIDI number of the octave of `C`, middle C. */
const MIDDLE_C = 60;
const SIGN_SEMITONES: Readonly<Record<string, number>> = { '^^': 2, '^': 1, '=': 0, _: -1, __: -2 };

/**
 * Reads the melody of the first tune of an ABC file (a subset of ABC 2.1: one voice; lengths, broken rhythm, tuplets,
 * ties, accidentals to the bar's end, modes, changes of key, metre and unit in the tune, first line of `w:` words).
 * Of chords the highest note; grace notes are left out, other voices are passed over, repeats are not played again.
 * @param name  what to call the file in an error
 * @throws ReedtraceError E_MUSIC_INVALID
 */
export function readAbc(bytes: Uint8Array, name: string): Melody {
  const reader = new AbcReader(name);
  const lines = decodeText(bytes)
    .replace(/^\uFEFF/, '')
    .split(/\r\n|\r|\n/);
  for (const [i, line] of lines.entries()) {
    if (!reader.line(line, i + 1)) break;
  }
  return reader.melody();
}

class AbcReader {
  readonly #name: string;
  #title: string | null = null;
  #metre: Melody['metre'] = null;
  #unit: number | null = null;
  #beatsPerMinute: number | null = null;
  #key: AbcKey | null = null;
  #tonic: number | null = null;
  #inTune = false;
  #voice: string | null = null;
  #muted = false;

  #atBeats = 0;
  readonly #raw: RawNote[] = [];
  readonly #tied: boolean[] = [];
  #accidentals = new Map<string, number>();
  /** Length that `>` or `<` gives to the next note, 1 when none. */
  #nextFactor = 1;
  #tuplet = { left: 0, factor: 1 };
  /** Notes of the last music line, for the `w:` below it. */
  #sung: SungNote[] = [];
  #bar = 0;
  #firstBarBeats: number | null = null;
  #lineStarts: number[] = [];
  #continues = false;
  readonly #remarks = new Set<string>();

  constructor(name: string) {
    this.#name = name;
  }

  /** @returns false when the tune is over */
  line(content: string, line: number): boolean {
    const text = content.replace(/(?<!\\)%.*$/, '').trimEnd();
    if (text === '') return !(this.#inTune && content.trim() === '');
    const field = /^([A-Za-z]):(.*)$/.exec(text);
    if (!field) {
      if (this.#inTune && !this.#muted) this.#music(text, line);
      return true;
    }
    if (field[1] === 'X' && this.#inTune) {
      this.#remarks.add('only the first tune of the file was read');
      return false;
    }
    this.#field(field[1], field[2].trim(), line);
    return true;
  }

  melody(): Melody {
    const { notes, dropped } = oneVoice(this.#raw);
    if (!this.#inTune || notes.length === 0) {
      throw musicError(this.#name, 'holds no ABC tune', 'give a file with X:, T:, K: and a line of notes');
    }
    return {
      notes,
      title: this.#title,
      beatsPerMinute: this.#beatsPerMinute,
      metre: this.#metre,
      ...pickupOf(this.#firstBarBeats, this.#metre),
      tonic: this.#tonic,
      lineStarts: this.#lineStarts.filter((start) => start < notes.length),
      remarks: [...this.#remarks, ...droppedRemark(dropped)],
    };
  }

  #field(letter: string, value: string, line: number): void {
    switch (letter) {
      case 'T':
        this.#title ??= value === '' ? null : value;
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
      case 'K': {
        const key = parseAbcKey(value);
        if (!key) {
          throw musicError(this.#name, `line ${line}: '${value}' is not a key`, 'write K: as in K:G or K:Am');
        }
        this.#key = key;
        if (!this.#inTune && key.tonic !== null) this.#tonic = (((key.tonic + key.shift) % 12) + 12) % 12;
        this.#inTune = true;
        break;
      }
      case 'V': {
        const voice = value.split(/\s/)[0];
        if (!this.#inTune) break;
        this.#voice ??= voice;
        this.#muted = voice !== this.#voice;
        if (this.#muted) this.#remarks.add('only the first voice was read');
        break;
      }
      case 'w':
        if (!this.#muted) this.#words(value);
        break;
    }
  }

  #readMetre(value: string): void {
    const metre =
      value === 'C' ? [4, 4] : value === 'C|' ? [2, 2] : /^(\d+)\/(\d+)/.exec(value)?.slice(1).map(Number);
    if (metre && metre[0] > 0 && metre[1] > 0) this.#metre = { count: metre[0], unit: metre[1] };
  }

  #readTempo(value: string): void {
    const match = /(?:(\d+\/\d+)\s*=\s*)?(\d+(?:\.\d+)?)\s*$/.exec(value.replace(/"[^"]*"/g, '').trim());
    if (!match || this.#beatsPerMinute !== null || !(Number(match[2]) > 0)) return;
    // Without a length (old style) the tempo counts unit notes.
    const length = (match[1] ? fraction(match[1]) : this.#unitLength()) ?? 0.25;
    this.#beatsPerMinute = Number(match[2]) * length * 4;
  }

  /** Unit note length in whole notes; by default 1/8, or 1/16 in metres shorter than 3/4. */
  #unitLength(): number {
    if (this.#unit !== null) return this.#unit;
    return this.#metre && this.#metre.count / this.#metre.unit < 0.75 ? 1 / 16 : 1 / 8;
  }

  #music(text: string, line: number): void {
    const start = this.#raw.length;
    if (!this.#continues) this.#sung = [];
    for (const match of text.matchAll(TOKEN)) {
      const g = match.groups!;
      if (g.letter) this.#note(g, line);
      else if (g.chord) this.#chord(g, line);
      else if (g.rest) this.#rest(g);
      else if (g.bar) this.#barLine(g.bar);
      else if (g.ending) this.#remarks.add('repeats are not played again');
      else if (g.p) this.#startTuplet(g);
      else if (g.broken) this.#breakRhythm(g.broken);
      else if (g.field) this.#field(g.field, g.value.trim(), line);
      else if (g.strange) {
        this.#remarks.add(`line ${line}, column ${match.index + 1}: '${g.strange}' passed over`);
      }
    }
    if (this.#raw.length > start && !this.#continues) this.#lineStarts.push(start);
    this.#continues = text.endsWith('\\') && this.#raw.length > start;
  }

  #note(g: Record<string, string>, line: number): void {
    const midi = this.#midiOf(g.sign, g.letter, g.octave);
    this.#sound(midi, this.#lengthOf(g.length, line), g.tie === '-');
  }

  #chord(g: Record<string, string>, line: number): void {
    const inside = [...g.chord.matchAll(CHORD_NOTE)];
    if (inside.length === 0) return;
    const midis = inside.map(([, sign, letter, octave]) => this.#midiOf(sign, letter, octave));
    const own = fractionOf(inside[0][4]);
    if (inside.length > 1) this.#remarks.add('of chords the highest note was read');
    this.#sound(
      Math.max(...midis),
      own * this.#lengthOf(g.chordLength, line),
      g.chordTie === '-' || g.chord.includes('-'),
    );
  }

  #sound(midi: number, durationBeats: number, ties: boolean): void {
    const last = this.#raw.length - 1;
    const tiedTo = last >= 0 && this.#tied[last] && this.#raw[last].midi === midi;
    if (tiedTo) {
      const earlier = this.#raw[last];
      this.#raw[last] = { ...earlier, durationBeats: this.#atBeats + durationBeats - earlier.onsetBeats };
      this.#tied[last] = ties;
    } else {
      this.#raw.push({ midi, onsetBeats: this.#atBeats, durationBeats });
      this.#tied.push(ties);
    }
    // A tied note takes a syllable of its own, which then has nowhere to go.
    this.#sung.push({ index: this.#raw.length - 1, bar: this.#bar });
    this.#atBeats += durationBeats;
  }

  #rest(g: Record<string, string>): void {
    if (g.rest === 'Z' || g.rest === 'X') {
      const bars = Math.max(1, Number(g.restLength) || 1);
      this.#atBeats += bars * (this.#metre ? (4 * this.#metre.count) / this.#metre.unit : 4);
    } else {
      this.#atBeats += this.#lengthOf(g.restLength, 0);
    }
  }

  #barLine(sign: string): void {
    this.#accidentals = new Map();
    this.#bar++;
    if (this.#atBeats > 0) this.#firstBarBeats ??= this.#atBeats;
    if (sign.includes(':')) this.#remarks.add('repeats are not played again');
  }

  #startTuplet(g: Record<string, string>): void {
    const p = Number(g.p);
    const compound = this.#metre !== null && this.#metre.count % 3 === 0 && this.#metre.count > 3;
    const usual = [0, 0, 3, 2, 3, compound ? 3 : 2, 2, compound ? 3 : 2, 3, compound ? 3 : 2][p];
    this.#tuplet = { left: Number(g.r) || p, factor: (Number(g.q) || usual) / p };
  }

  /** Length of the next note in beats, with unit, tuplet and broken rhythm. */
  #lengthOf(text: string, line: number): number {
    const written = fractionOf(text);
    if (!(written > 0 && Number.isFinite(written))) {
      throw musicError(
        this.#name,
        `line ${line}: '${text}' is not a length`,
        'write lengths as in A2, A/2, A3/2',
      );
    }
    let beats = written * this.#unitLength() * 4 * this.#nextFactor;
    this.#nextFactor = 1;
    if (this.#tuplet.left > 0) {
      this.#tuplet.left--;
      beats *= this.#tuplet.factor;
    }
    return beats;
  }

  /** `a>b`: the first one and a half, the second half as long; `<` the other way; doubled signs dot twice. */
  #breakRhythm(signs: string): void {
    const last = this.#raw[this.#raw.length - 1];
    if (!last) return;
    const short = 0.5 ** signs.length;
    const factor = signs[0] === '>' ? 2 - short : short;
    const changed = last.durationBeats * factor;
    this.#atBeats += changed - last.durationBeats;
    this.#raw[this.#raw.length - 1] = { ...last, durationBeats: changed };
    this.#nextFactor = signs[0] === '>' ? short : 2 - short;
  }

  #midiOf(sign: string | undefined, letter: string, octave: string): number {
    const name = letter.toUpperCase();
    let octaves = letter === name ? 0 : 1;
    for (const mark of octave) octaves += mark === "'" ? 1 : -1;
    // An accidental holds to the end of the bar, in all octaves (ABC 2.1, 11.3: the default is "pitch").
    if (sign !== undefined) this.#accidentals.set(name, SIGN_SEMITONES[sign]);
    const altered = this.#accidentals.get(name) ?? this.#key?.signature.get(name) ?? 0;
    return MIDDLE_C + LETTER_PITCH_CLASS[name] + altered + 12 * octaves + (this.#key?.shift ?? 0);
  }

  #words(text: string): void {
    for (const [index, word] of alignWords(text, this.#sung)) {
      if (this.#raw[index].word === undefined) this.#raw[index] = { ...this.#raw[index], word };
    }
    // A second w: line is the next verse.
    this.#sung = [];
  }
}
