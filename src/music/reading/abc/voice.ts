import { LETTER_PITCH_CLASS } from '../../../harp/keys.ts';
import { parseTabToken, TAB_STYLES } from '../../../tab/text.ts';
import { pickupOf } from '../../rhythm/metre.ts';
import { musicError } from '../fault.ts';
import { endOf, type Mark } from '../jumps.ts';
import type { RepeatSign } from '../repeats.ts';
import { MOST_VERSES, withLaterWord } from '../verses.ts';
import type { RawNote } from '../voice.ts';
import type { AbcFields } from './fields.ts';
import { CHORD_NOTE, fractionOf, type TokenParts } from './tokens.ts';
import { alignWords, type SungNote } from './words.ts';

/** MIDI number of `C`, middle C. */
const MIDDLE_C = 60;
/** No ending is for more passes than this. */
const MOST_ENDINGS = 9;
const SIGN_SEMITONES: Readonly<Record<string, number>> = { '^^': 2, '^': 1, '=': 0, _: -1, __: -2 };

/** Builds the notes of one voice from its tokens: time, ties, accidentals, tuplets, broken rhythm, and the words below. */
export class AbcVoice {
  readonly #file: string;
  readonly #fields: AbcFields;
  readonly #raw: RawNote[] = [];
  readonly #tied: boolean[] = [];
  #atBeats = 0;
  /** The last note or rest and its own length (a tied note counts by itself), for a broken rhythm that may follow. */
  #last: { readonly kind: 'note' | 'rest'; readonly beats: number } | null = null;
  /** The last note as written without its accidental; null after a chord. */
  #lastName: string | null = null;
  #accidentals = new Map<string, number>();
  /** Factor that `>` or `<` puts on the length of the next note; otherwise 1. */
  #nextFactor = 1;
  #tuplet = { left: 0, factor: 1 };
  /** Notes of the last music line, for the `w:` below it. */
  #sung: SungNote[] = [];
  /** The last `w:` line. */
  #words = '';
  /** How many `w:` lines with words are below the last music line. */
  #verse = 0;
  /** Position of the first note of that line. */
  #lineFirst = 0;
  /** True if the last `w:` line was tab. */
  #tabRead = false;
  #bar = 0;
  #barFromBeats = 0;
  readonly #signs: RepeatSign[] = [];
  readonly #marks: Mark[] = [];
  /** Marks over a note or bar line that is still to come, and how many notes there were before them. */
  #openMarks: { readonly mark: Omit<Mark, 'endBeats'>; readonly before: number }[] = [];
  #firstBarBeats: number | null = null;

  constructor(file: string, fields: AbcFields) {
    this.#file = file;
    this.#fields = fields;
  }

  /** The notes so far, tied ones joined, in quarter notes from the start. */
  get notes(): readonly RawNote[] {
    return this.#raw;
  }

  /** Repeats and endings, in order. */
  get signs(): readonly RepeatSign[] {
    return this.#signs;
  }

  /** Signs to jump to or from, in order, once the tune is over. */
  marks(): readonly Mark[] {
    this.#closeMarks(() => true);
    return this.#marks;
  }

  pickup(): ReturnType<typeof pickupOf> {
    return pickupOf(this.#firstBarBeats, this.#fields.metre);
  }

  /** Call at the start of a music line that does not continue the one before. */
  beginLine(): void {
    this.#sung = [];
    this.#tabRead = false;
    this.#verse = 0;
    this.#lineFirst = this.#raw.length;
  }

  /** Call at the end of a music line: a mark after its last note does not wait for the next one. */
  endLine(): void {
    this.#closeMarks(({ before }) => before === this.#raw.length);
  }

  /** A sign or text to jump to or from, before the note or bar line that it is written over. */
  mark(mark: Pick<Mark, 'kind' | 'until'>): void {
    this.#openMarks.push({ mark: { ...mark, atBeats: this.#atBeats }, before: this.#raw.length });
  }

  #closeMarks(isOver: (open: { readonly before: number }) => boolean): void {
    const over = this.#openMarks.filter(isOver);
    this.#openMarks = this.#openMarks.filter((open) => !isOver(open));
    for (const { mark } of over)
      this.#marks.push({ ...mark, endBeats: endOf(mark, this.#barFromBeats, this.#atBeats) });
  }

  /** @throws ReedtraceError E_MUSIC_INVALID for an invalid length */
  note(g: TokenParts, line: number): void {
    const name = `${g.letter}${g.octave}`;
    // A tie carries an accidental into the next bar.
    const held = g.sign === undefined && name === this.#lastName && this.#tied[this.#tied.length - 1];
    const midi = held ? this.#raw[this.#raw.length - 1].midi : this.#midiOf(g.sign, g.letter, g.octave);
    this.#sound([midi], this.#lengthOf(g.length, line), g.tie === '-');
    this.#lastName = name;
  }

  /** A chord lasts as long as its first note; its highest note belongs to the melody. */
  chord(g: TokenParts, line: number): void {
    const inside = [...g.chord.matchAll(CHORD_NOTE)];
    if (inside.length === 0) return;
    const midis = inside.map(([, sign, letter, octave]) => this.#midiOf(sign, letter, octave));
    const own = fractionOf(inside[0][4]);
    this.#lastName = null;
    this.#sound(
      midis,
      own * this.#lengthOf(g.chordLength, line),
      g.chordTie === '-' || g.chord.includes('-'),
    );
  }

  /** @param midis  all pitches that sound at once */
  #sound(midis: readonly number[], durationBeats: number, ties: boolean): void {
    const midi = Math.max(...midis);
    const chord = midis.length > 1 ? midis.toSorted((a, b) => a - b) : undefined;
    const last = this.#raw.length - 1;
    const tiedTo = last >= 0 && this.#tied[last] && this.#raw[last].midi === midi;
    if (tiedTo) {
      const earlier = this.#raw[last];
      this.#raw[last] = { ...earlier, durationBeats: this.#atBeats + durationBeats - earlier.onsetBeats };
      this.#tied[last] = ties;
    } else {
      this.#raw.push({ midi, onsetBeats: this.#atBeats, durationBeats, chord });
      this.#tied.push(ties);
    }
    // A tied note uses up a syllable too, which is then dropped.
    this.#sung.push({ index: this.#raw.length - 1, bar: this.#bar });
    this.#last = { kind: 'note', beats: durationBeats };
    this.#atBeats += durationBeats;
  }

  /** A rest, possibly of whole bars. */
  rest(g: TokenParts): void {
    if (g.rest === 'Z' || g.rest === 'X') {
      const bars = Math.max(1, Number(g.restLength) || 1);
      this.#last = null;
      this.#atBeats +=
        bars * (this.#fields.metre ? (4 * this.#fields.metre.count) / this.#fields.metre.unit : 4);
    } else {
      this.#last = { kind: 'rest', beats: this.#lengthOf(g.restLength, 0) };
      this.#atBeats += this.#last.beats;
    }
  }

  /** Accidentals end at the bar line. A colon for each repeat is on the side of what is repeated (ABC 2.1, 4.8). */
  barLine(sign: string): void {
    this.#accidentals = new Map();
    this.#closeMarks(() => true);
    this.#barFromBeats = this.#atBeats;
    this.#bar++;
    const atBeats = this.#atBeats;
    if (atBeats > 0) this.#firstBarBeats ??= atBeats;
    const [ends, begins] = /^:+$/.test(sign)
      ? [sign.length / 2, sign.length / 2]
      : [/^:*/, /:*$/].map((colons) => colons.exec(sign)?.[0].length ?? 0);
    if (ends > 0) this.#signs.push({ atBeats, kind: 'end', times: Math.ceil(ends) + 1 });
    else if (/\|\||\]|\[/.test(sign)) this.#signs.push({ atBeats, kind: 'close' });
    if (begins > 0) this.#signs.push({ atBeats, kind: 'begin' });
  }

  /** A first or second ending begins, such as `1`, `[2` or `1,3-4`. */
  ending(text: string): void {
    const numbers = [...text.matchAll(/(\d+)(?:-(\d+))?/g)].flatMap(([, from, to = from]) =>
      Array.from(
        { length: Math.min(MOST_ENDINGS, Number(to) - Number(from) + 1) },
        (_, i) => Number(from) + i,
      ),
    );
    this.#signs.push({ atBeats: this.#atBeats, kind: 'ending', numbers });
  }

  /** A `-` that stands apart from its note: not allowed by ABC 2.1 (4.11), but found in files. */
  tie(): void {
    if (this.#last?.kind === 'note') this.#tied[this.#tied.length - 1] = true;
  }

  /** `(p:q:r`: p notes in the time of q, for the next r notes (ABC 2.1, 4.13). */
  startTuplet(g: TokenParts): void {
    const p = Number(g.p);
    const compound =
      this.#fields.metre !== null && this.#fields.metre.count % 3 === 0 && this.#fields.metre.count > 3;
    const usual = [0, 0, 3, 2, 3, compound ? 3 : 2, 2, compound ? 3 : 2, 3, compound ? 3 : 2][p];
    this.#tuplet = { left: Number(g.r) || p, factor: (Number(g.q) || usual) / p };
  }

  /** Length of the next note in beats, from unit, tuplet and broken rhythm. */
  #lengthOf(text: string, line: number): number {
    const written = fractionOf(text);
    if (!(written > 0 && Number.isFinite(written))) {
      throw musicError(
        this.#file,
        `line ${line}: '${text}' is not a length`,
        'write lengths as in A2, A/2, A3/2',
      );
    }
    let beats = written * this.#fields.unitLength * 4 * this.#nextFactor;
    this.#nextFactor = 1;
    if (this.#tuplet.left > 0) {
      this.#tuplet.left--;
      beats *= this.#tuplet.factor;
    }
    return beats;
  }

  /** `a>b`: the first note lasts 3/2, the second 1/2 of its length; `<` the other way round; doubled signs dot twice. */
  breakRhythm(signs: string): void {
    if (this.#last === null) return;
    const short = 0.5 ** signs.length;
    const longer = this.#last.beats * ((signs[0] === '>' ? 2 - short : short) - 1);
    this.#atBeats += longer;
    this.#last = { ...this.#last, beats: this.#last.beats + longer };
    if (this.#last.kind === 'note') {
      const note = this.#raw[this.#raw.length - 1];
      this.#raw[this.#raw.length - 1] = { ...note, durationBeats: note.durationBeats + longer };
    }
    this.#nextFactor = signs[0] === '>' ? short : 2 - short;
  }

  #midiOf(sign: string | undefined, letter: string, octave: string): number {
    const name = letter.toUpperCase();
    let octaves = letter === name ? 0 : 1;
    for (const mark of octave) octaves += mark === "'" ? 1 : -1;
    // An accidental lasts to the end of the bar, in all octaves (ABC 2.1, 11.3: the default is "pitch").
    if (sign !== undefined) this.#accidentals.set(name, SIGN_SEMITONES[sign]);
    const altered = this.#accidentals.get(name) ?? this.#fields.key?.signature.get(name) ?? 0;
    return MIDDLE_C + LETTER_PITCH_CLASS[name] + altered + 12 * octaves + (this.#fields.key?.shift ?? 0);
  }

  /** Puts a `w:` line under the last music line: words of its first verse, or of the next one. */
  words(text: string): void {
    // Our own files put a line of tab first; the words follow it.
    if (!this.#tabRead) this.#verse = Math.min(MOST_VERSES, this.#verse + 1);
    this.#words = text;
    this.#layWords();
  }

  /** Continues the last `w:` line. */
  moreWords(text: string): void {
    this.#words += ` ${text}`;
    this.#layWords();
  }

  #layWords(): void {
    const words = alignWords(this.#words, this.#sung);
    const byNote = new Map(words.toReversed());
    for (const { index } of this.#sung) {
      // A note tied to one of the line before has its words there.
      if (index < this.#lineFirst) continue;
      const note = this.#raw[index];
      const word = byNote.get(index);
      this.#raw[index] =
        this.#verse < 2
          ? { ...note, word }
          : { ...note, laterWords: withLaterWord(note.laterWords, this.#verse, word ?? '') };
    }
    this.#tabRead = this.#verse < 2 && words.length > 0 && words.every(([, word]) => isTab(word));
  }
}

function isTab(word: string): boolean {
  return TAB_STYLES.some((style) => parseTabToken(word, style) !== undefined);
}
