import type { Melody } from '../../melody.ts';
import { checkedMelody } from '../check-melody.ts';
import { decodeText, musicError } from '../fault.ts';
import { droppedRemark, oneVoice } from '../voice.ts';
import { AbcFields } from './fields.ts';
import { TOKEN, type TokenParts } from './tokens.ts';
import { AbcVoice } from './voice.ts';

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

/** Signs that mean nothing are named one by one up to so many. */
const STRANGE_NAMED = 10;

/** The lines of a file, dealt out to fields and to the first voice. */
class AbcReader {
  readonly #name: string;
  readonly #remarks = new Set<string>();
  readonly #fields: AbcFields;
  readonly #first: AbcVoice;
  /** Name of the voice that is read; null while none is named. */
  #voice: string | null = null;
  #muted = false;
  readonly #lineStarts: number[] = [];
  #continues = false;
  #strange = 0;

  constructor(name: string) {
    this.#name = name;
    this.#fields = new AbcFields(name);
    this.#first = new AbcVoice(name, this.#fields, this.#remarks);
  }

  /** @returns false when the tune is over */
  line(content: string, line: number): boolean {
    const text = content.replace(/(?<!\\)%.*$/, '').trimEnd();
    if (text === '') return !(this.#fields.inTune && content.trim() === '');
    const field = /^([A-Za-z]):(.*)$/.exec(text);
    if (!field) {
      if (this.#fields.inTune && !this.#muted) this.#music(text, line);
      return true;
    }
    if (field[1] === 'X' && this.#fields.inTune) {
      this.#remarks.add('only the first tune of the file was read');
      return false;
    }
    this.#field(field[1], field[2].trim(), line);
    return true;
  }

  melody(): Melody {
    const { notes, dropped } = oneVoice(this.#first.notes);
    const { inTune, title, beatsPerMinute, metre, tonic } = this.#fields;
    if (!inTune || notes.length === 0) {
      throw musicError(this.#name, 'holds no ABC tune', 'give a file with X:, T:, K: and a line of notes');
    }
    const melody: Melody = {
      notes,
      title,
      beatsPerMinute,
      metre,
      ...this.#first.pickup(),
      tonic,
      lineStarts: this.#lineStarts.filter((start) => start < notes.length),
      remarks: [...this.#remarks, ...this.#strangeRemark(), ...droppedRemark(dropped)],
    };
    return checkedMelody(melody, this.#name);
  }

  #strangeRemark(): string[] {
    const more = this.#strange - STRANGE_NAMED;
    return more > 0 ? [`and ${more} more signs passed over`] : [];
  }

  #field(letter: string, value: string, line: number): void {
    if (letter === 'V') this.#changeVoice(value.split(/\s/)[0]);
    else if (letter !== 'w') this.#fields.read(letter, value, line);
    else if (!this.#muted) this.#first.words(value);
  }

  #changeVoice(voice: string): void {
    if (!this.#fields.inTune) return;
    this.#voice ??= voice;
    this.#muted = voice !== this.#voice;
    if (this.#muted) this.#remarks.add('only the first voice was read');
  }

  #music(text: string, line: number): void {
    const start = this.#first.notes.length;
    if (!this.#continues) this.#first.beginLine();
    for (const match of text.matchAll(TOKEN)) {
      const g = match.groups as TokenParts;
      if (g.letter) this.#first.note(g, line);
      else if (g.chord) this.#first.chord(g, line);
      else if (g.rest) this.#first.rest(g);
      else if (g.bar) this.#first.barLine(g.bar);
      else if (g.ending) this.#remarks.add('repeats are not played again');
      else if (g.p) this.#first.startTuplet(g);
      else if (g.broken) this.#first.breakRhythm(g.broken);
      else if (g.field) this.#field(g.field, g.value.trim(), line);
      else if (g.strange && ++this.#strange <= STRANGE_NAMED) {
        this.#remarks.add(`line ${line}, column ${match.index + 1}: '${g.strange}' passed over`);
      }
    }
    if (this.#first.notes.length > start && !this.#continues) this.#lineStarts.push(start);
    this.#continues = text.endsWith('\\') && this.#first.notes.length > start;
  }
}
