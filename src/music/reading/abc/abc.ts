import { decodeText } from '../../../text/decode-text.ts';
import type { Melody } from '../../melody.ts';
import { checkedMelody } from '../check-melody.ts';
import { musicError } from '../fault.ts';
import { markOf } from '../jumps.ts';
import { unfolded } from '../repeats.ts';
import { droppedRemark, oneVoice } from '../voice.ts';
import { choosePart, type TuneChoice } from '../which-part.ts';
import { withAccents } from './accents.ts';
import { AbcFields } from './fields.ts';
import { TOKEN, type TokenParts } from './tokens.ts';
import { AbcVoice } from './voice.ts';
import { chooseTune, voicesOf } from './which.ts';

/**
 * Reads the melody of one tune of an ABC file. Supports a subset of ABC 2.1: one voice; lengths, broken rhythm, tuplets,
 * ties, accidentals to the end of the bar, modes, changes of key, metre and unit within the tune, and `w:` words. Of several
 * voices it reads the one asked for, else the one named as the melody, else the highest; of a chord, the highest note. Repeats
 * are written out, D.C. and D.S. followed; grace notes and overlays are left out with a remark.
 * @param name  what to call the file in an error
 * @throws ReedtraceError E_MUSIC_INVALID; E_USAGE for a tune or voice that the file does not have
 */
export function readAbc(bytes: Uint8Array, name: string, choice: TuneChoice = {}): Melody {
  const lines = decodeText(bytes)
    .replace(/^\uFEFF/, '')
    .split(/\r\n|\r|\n/);
  const { from, to, remarks } = chooseTune(lines, choice.tune, name);
  const read = (voice: string | null) => {
    const reader = new AbcReader(name, voice);
    for (const [i, line] of lines.entries()) {
      if (i >= from.head && i < from.tune) continue;
      if (i >= to || !reader.line(line, i + 1)) break;
    }
    return reader.melody(remarks, choice.repeats !== false);
  };
  const voices = voicesOf(lines.slice(from.tune, to));
  return voices.length < 2 ? read(null) : choosePart(voices, choice.part, read, name, 'voice');
}

/** Signs that stand for `!coda!` and `!segno!` (ABC 2.1, section 4.14). */
const SHORT_MARKS: Readonly<Record<string, string>> = { O: 'coda', S: 'segno' };
/** At most this many unknown signs are named. */
const STRANGE_NAMED = 10;

/** Reads the lines of a file: fields, and the notes of one voice. */
class AbcReader {
  readonly #name: string;
  readonly #remarks = new Set<string>();
  readonly #fields: AbcFields;
  readonly #first: AbcVoice;
  /** Name of the voice to read; null until one is named. */
  #voice: string | null;
  /** True after `&` up to the bar line: an overlay, which is left out. */
  #overlaid = false;
  #muted = false;
  readonly #lineStarts: number[] = [];
  #continues = false;
  /** The field that a line `+:` continues; null after a line of music. */
  #lastField: string | null = null;
  #strange = 0;

  /** @param voice  the voice to read; null for the first */
  constructor(name: string, voice: string | null) {
    this.#name = name;
    this.#voice = voice;
    this.#fields = new AbcFields(name);
    this.#first = new AbcVoice(name, this.#fields);
  }

  /** @returns false once the tune is over */
  line(content: string, line: number): boolean {
    const text = content.replace(/(?<!\\)%.*$/, '').trimEnd();
    if (text === '') return !(this.#fields.inTune && content.trim() === '');
    const field = /^([A-Za-z+]):(.*)$/.exec(text);
    if (!field) {
      this.#lastField = null;
      if (this.#fields.inTune && (!this.#muted || text.includes('[V:'))) this.#music(text, line);
      return true;
    }
    if (field[1] === 'X' && this.#fields.inTune) return false;
    // Of the fields that may go on (ABC 2.1, 3.3) only words matter.
    if (field[1] !== '+') this.#field(field[1], field[2].trim(), line);
    else if (this.#lastField === 'w' && !this.#muted) this.#first.moreWords(withAccents(field[2].trim()));
    if (field[1] !== '+') this.#lastField = field[1];
    return true;
  }

  /**
   * @param told  further remarks on the file
   * @param repeats  false to read what is repeated only once
   */
  melody(told: readonly string[], repeats: boolean): Melody {
    const { notes: written, dropped } = oneVoice(this.#first.notes);
    const { inTune, title, beatsPerMinute, metre, tonic } = this.#fields;
    if (!inTune && title !== null) {
      throw musicError(this.#name, 'has no key', 'put a line such as K:G between the title and the notes');
    }
    if (!inTune || written.length === 0) {
      throw musicError(this.#name, 'has no ABC tune', 'give a file with X:, T:, K: and a line of notes');
    }
    const { signs } = this.#first;
    const lines = this.#lineStarts.filter((start) => start < written.length);
    const marks = this.#first.marks();
    const { notes, lineStarts, remarks } = unfolded(
      { notes: written, lineStarts: lines, signs, marks },
      !repeats,
    );
    const melody: Melody = {
      notes,
      title,
      beatsPerMinute,
      metre,
      ...this.#first.pickup(),
      tonic,
      lineStarts,
      remarks: [...told, ...this.#remarks, ...remarks, ...this.#strangeRemark(), ...droppedRemark(dropped)],
    };
    return checkedMelody(melody, this.#name);
  }

  #strangeRemark(): string[] {
    const more = this.#strange - STRANGE_NAMED;
    return more > 0 ? [`and ${more} more signs skipped`] : [];
  }

  #field(letter: string, value: string, line: number): void {
    if (letter === 'P' && !this.#fields.inTune)
      this.#remarks.add(`parts are read as written, not as ${value}`);
    if (letter === 'V') this.#changeVoice(value.split(/\s/)[0]);
    else if (letter !== 'w') this.#fields.read(letter, value, line);
    else if (!this.#muted) this.#first.words(withAccents(value));
  }

  #changeVoice(voice: string): void {
    if (!this.#fields.inTune) return;
    this.#voice ??= voice;
    this.#muted = voice !== this.#voice;
  }

  #music(text: string, line: number): void {
    const start = this.#first.notes.length;
    if (!this.#continues) this.#first.beginLine();
    for (const match of text.matchAll(TOKEN)) {
      const g = match.groups as TokenParts;
      if (g.bar) this.#overlaid = false;
      else if (g.strange === '&') {
        this.#overlaid = true;
        this.#remarks.add('the second line in the same voice (after &) was left out');
        continue;
      }
      if (this.#overlaid || (this.#muted && g.field === undefined)) continue;
      const over = /^["!+][_^<>@]?(.*).$/.exec(g.text ?? '')?.[1] ?? SHORT_MARKS[g.passed ?? ''];
      const mark = over === undefined ? null : markOf(over);
      if (mark !== null) this.#first.mark(mark);
      if (g.text?.startsWith('{')) this.#remarks.add('grace notes were left out');
      if (g.letter) this.#first.note(g, line);
      else if (g.chord) this.#first.chord(g, line);
      else if (g.rest) this.#first.rest(g);
      else if (g.bar) this.#first.barLine(g.bar);
      else if (g.ending) this.#first.ending(g.ending);
      else if (g.p) this.#first.startTuplet(g);
      else if (g.passed === '-') this.#first.tie();
      else if (g.broken) this.#first.breakRhythm(g.broken);
      else if (g.field) this.#field(g.field, g.value.trim(), line);
      else if (g.strange && ++this.#strange <= STRANGE_NAMED) {
        this.#remarks.add(`line ${line}, column ${match.index + 1}: '${g.strange}' skipped`);
      }
    }
    if (this.#first.notes.length > start && !this.#continues) this.#lineStarts.push(start);
    if (!this.#muted) this.#first.endLine();
    this.#continues = text.endsWith('\\') && this.#first.notes.length > start;
  }
}
