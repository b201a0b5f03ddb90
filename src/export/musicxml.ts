import { create } from 'xmlbuilder2';
import type { XMLBuilder } from 'xmlbuilder2/lib/interfaces.js';
import { isCompound, TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import { formatTabNote, type TabStyle } from '../tab/text.ts';
import { goesOn } from '../take/words.ts';
import { xmlCharacters } from '../text/xml.ts';
import { harpInWords } from './head.ts';
import { type Accidental, accidentalsOf } from './notation/accidentals.ts';
import { type Bar, buildBars, type Piece } from './notation/bars.ts';
import { type BeamValue, beamsOf } from './notation/beams.ts';
import { spell } from './notation/spelling.ts';
import { leftOverInWords, type Score, type ScoreNote, type Sung } from './score.ts';

/** General MIDI program of the harmonica, counted from 1. */
const HARMONICA_PROGRAM = 23;
/** Beyond these mean pitches the staff is written an octave away, for fewer ledger lines (common practice). */
const HIGH_MIDI = 84;
const LOW_MIDI = 55;

/** The first line of lyrics is the tab: there alone it stands large and on one level in notation programs. */
const TAB_LYRIC = 'tab';
const TAB_FONT = { 'font-weight': 'bold', 'font-size': '16' };

/** Words that belong to no note have no place among the notes of MusicXML. */
const LEFT_OVER_FIELD = 'words that found no note';

export interface MusicXmlOptions {
  readonly style: TabStyle;
  /** Who the tune is by; null or missing for nothing. */
  readonly by?: string | null;
  /** A part of the tune for the engraver, which writes neither tab, words nor tempo; the whole tune when left out. */
  readonly part?: EngravedPart;
}

/** Some bars of a tune, to be engraved for themselves. */
export interface EngravedPart {
  readonly bars: readonly Bar[];
  /** They begin the tune. */
  readonly first: boolean;
  /** Text as wide as what will stand under a note. */
  readonly spaceFor: (note: ScoreNote) => string;
}

/** Id of a note in the document; the later signs of a tied note have none. */
export function noteElementId(index: number): string {
  return `note${index}`;
}

/** Ampersands are escaped here, since the writer leaves alone what looks like an entity (`&A;`). */
function clean(text: string): string {
  return xmlCharacters(text).replaceAll('&', '&amp;');
}

/**
 * A score as MusicXML 4.0 (W3C), partwise: tab as the first line of lyrics, words as the others with
 * syllabics and extends, chromatic bends spelled in the key; words that found no note in a field of the header.
 */
export function writeMusicXml(score: Score, options: MusicXmlOptions): string {
  const document = create({ version: '1.0', encoding: 'UTF-8' }).dtd({
    name: 'score-partwise',
    pubID: '-//Recordare//DTD MusicXML 4.0 Partwise//EN',
    sysID: 'http://www.musicxml.org/dtds/partwise.dtd',
  });
  const root = document.ele('score-partwise', { version: '4.0' });
  root.ele('work').ele('work-title').txt(clean(score.title));
  const identification = root.ele('identification');
  if (options.by) identification.ele('creator', { type: 'composer' }).txt(clean(options.by));
  identification.ele('encoding').ele('software').txt('Reedtrace');
  const left = leftOverInWords(score);
  if (left.length > 0) {
    const field = identification.ele('miscellaneous').ele('miscellaneous-field', { name: LEFT_OVER_FIELD });
    field.txt(clean(left.join('\n')));
  }
  const listed = root.ele('part-list').ele('score-part', { id: 'P1' });
  const { harp } = score.take;
  listed.ele('part-name').txt(options.part === undefined ? 'Harmonica' : '');
  const instrument = listed.ele('score-instrument', { id: 'P1-I1' });
  instrument.ele('instrument-name').txt(clean(`Harmonica in ${harp.key}, ${harp.tuning} tuning`));
  instrument.ele('instrument-sound').txt('wind.reed.harmonica');
  const midi = listed.ele('midi-instrument', { id: 'P1-I1' });
  midi.ele('midi-channel').txt('1');
  midi.ele('midi-program').txt(String(HARMONICA_PROGRAM));
  const part = root.ele('part', { id: 'P1' });
  const bars = options.part?.bars ?? buildBars(score);
  for (const [i, bar] of bars.entries()) writeBar(part, bar, i, bars, score, options);
  if (bars.length === 0) writeEmptyBar(part, score);
  return `${document.end({ prettyPrint: true }).replace(' standalone="no"', '')}\n`;
}

function writeEmptyBar(part: XMLBuilder, score: Score): void {
  const measure = part.ele('measure', { number: '1' });
  writeAttributes(measure, score);
  const note = measure.ele('note');
  note.ele('rest', { measure: 'yes' });
  note.ele('duration').txt(String(4 * TICKS_PER_BEAT));
  note.ele('voice').txt('1');
}

function writeBar(
  part: XMLBuilder,
  bar: Bar,
  index: number,
  bars: readonly Bar[],
  score: Score,
  options: MusicXmlOptions,
): void {
  const number = bars[0].pickup ? index : index + 1;
  const partOfBar = bar.pickup || bar.open || bar.offsetTicks > 0;
  const measure = part.ele('measure', {
    number: String(number),
    ...(partOfBar ? { implicit: 'yes' } : {}),
  });
  if (index > 0 && bar.startsLine) measure.ele('print', { 'new-system': 'yes' });
  if (index === 0) {
    writeAttributes(measure, score, options.part?.first ?? true);
    if (options.part === undefined) {
      writeHead(measure, score);
      writeTempo(measure, score);
    }
  }
  if (bar.pieces.length === 1 && bar.pieces[0].note === null) {
    const rest = measure.ele('note');
    rest.ele('rest', { measure: 'yes' });
    rest.ele('duration').txt(String(bar.ticks));
    rest.ele('voice').txt('1');
  } else {
    const { metre } = score.beats;
    const beams = beamsOf(bar, metre !== null && isCompound(metre) ? 1.5 * TICKS_PER_BEAT : TICKS_PER_BEAT);
    const accidentals = accidentalsOf(bar, score.fifths);
    for (const [i, piece] of bar.pieces.entries()) {
      for (const [of, midi] of (piece.note?.midis ?? [null]).entries()) {
        const sign = { midi, accidental: accidentals[i][of] ?? null, first: of === 0 };
        writePiece(measure, piece, sign, beams[i], score, options);
      }
    }
  }
  const last = bar.pieces.some(({ note }) => note?.index === score.notes.length - 1);
  if (index === bars.length - 1 && (options.part === undefined || last)) {
    measure.ele('barline', { location: 'right' }).ele('bar-style').txt('light-heavy');
  } else if (bar.open || score.beats.metre === null) {
    const style = bar.open ? 'none' : 'dotted';
    measure.ele('barline', { location: 'right' }).ele('bar-style').txt(style);
  }
}

function writeAttributes(measure: XMLBuilder, score: Score, withTime = true): void {
  const attributes = measure.ele('attributes');
  attributes.ele('divisions').txt(String(TICKS_PER_BEAT));
  attributes.ele('key').ele('fifths').txt(String(score.fifths));
  const { metre } = score.beats;
  if (!withTime) {
    // Lines after the first have no metre at their head.
  } else if (metre === null) {
    attributes.ele('time', { 'print-object': 'no' }).ele('senza-misura');
  } else {
    const time = attributes.ele('time');
    time.ele('beats').txt(String(metre.count));
    time.ele('beat-type').txt(String(metre.unit));
  }
  const clef = attributes.ele('clef');
  clef.ele('sign').txt('G');
  clef.ele('line').txt('2');
  const octave = clefOctave(score);
  if (octave !== 0) clef.ele('clef-octave-change').txt(String(octave));
}

function clefOctave({ notes }: Score): number {
  if (notes.length === 0) return 0;
  const mean = notes.reduce((sum, { midi }) => sum + midi, 0) / notes.length;
  return mean > HIGH_MIDI ? 1 : mean < LOW_MIDI ? -1 : 0;
}

/** Harp, tuning and position, where a player looks before the first note. */
function writeHead(measure: XMLBuilder, score: Score): void {
  const direction = measure.ele('direction', { placement: 'above' });
  direction
    .ele('direction-type')
    .ele('words')
    .txt(clean(harpInWords(score).join(' · ')));
}

function writeTempo(measure: XMLBuilder, { beats }: Score): void {
  const direction = measure.ele('direction', { placement: 'above' });
  const metronome = direction.ele('direction-type').ele('metronome');
  const compound = beats.metre !== null && isCompound(beats.metre);
  metronome.ele('beat-unit').txt('quarter');
  if (compound) metronome.ele('beat-unit-dot');
  metronome.ele('per-minute').txt(String(Math.round(compound ? beats.tempoBpm / 1.5 : beats.tempoBpm)));
  if (beats.swing) direction.ele('direction-type').ele('words').txt('Swing');
  const sound = direction.ele('sound', { tempo: String(beats.tempoBpm) });
  if (!beats.swing) return;
  const swing = sound.ele('swing');
  swing.ele('first').txt('2');
  swing.ele('second').txt('1');
  swing.ele('swing-type').txt('eighth');
}

/** One head of a sign on the staff: a pitch with the accidental before it, or a rest. */
interface Head {
  readonly midi: number | null;
  readonly accidental: Accidental | null;
  /** The lowest of a chord, which has what is written once for all. */
  readonly first: boolean;
}

function writePiece(
  measure: XMLBuilder,
  piece: Piece,
  { midi, accidental, first }: Head,
  beams: readonly BeamValue[],
  score: Score,
  options: MusicXmlOptions,
): void {
  const { note } = piece;
  const named = note !== null && first && !piece.tiedFrom;
  const element = measure.ele('note', named ? { id: noteElementId(note.index) } : {});
  if (!first) element.ele('chord');
  if (midi === null) {
    element.ele('rest');
  } else {
    const { step, alter, octave } = spell(midi, score.fifths);
    const pitch = element.ele('pitch');
    pitch.ele('step').txt(step);
    if (alter !== 0) pitch.ele('alter').txt(String(alter));
    pitch.ele('octave').txt(String(octave));
  }
  element.ele('duration').txt(String(piece.ticks));
  if (piece.tiedFrom) element.ele('tie', { type: 'stop' });
  if (piece.tiedTo) element.ele('tie', { type: 'start' });
  element.ele('voice').txt('1');
  element.ele('type').txt(piece.type);
  if (piece.dots > 0) element.ele('dot');
  if (accidental !== null) element.ele('accidental').txt(accidental);
  if (piece.triplet !== null) {
    const modification = element.ele('time-modification');
    modification.ele('actual-notes').txt('3');
    modification.ele('normal-notes').txt('2');
    modification.ele('normal-type').txt('eighth');
  }
  if (first) {
    for (const [level, value] of beams.entries())
      element.ele('beam', { number: String(level + 1) }).txt(value);
  }
  writeNotations(element, piece, first);
  if (!first) return;
  if (note === null || piece.tiedFrom) return;
  if (options.part !== undefined) {
    const lyric = element.ele('lyric', { number: '1' });
    lyric.ele('syllabic').txt('single');
    lyric.ele('text').txt(clean(options.part.spaceFor(note)));
    return;
  }
  const tab = element.ele('lyric', { number: '1', name: TAB_LYRIC });
  tab.ele('syllabic').txt('single');
  tab.ele('text', TAB_FONT).txt(formatTabNote(note.played, options.style).replace(/^-/, '−'));
  for (const [verse, sung] of note.sung.entries()) if (sung) writeLyric(element, verse + 2, sung);
}

function writeNotations(element: XMLBuilder, piece: Piece, first: boolean): void {
  const group = first && (piece.triplet === 'start' || piece.triplet === 'stop') ? piece.triplet : null;
  if (!piece.tiedFrom && !piece.tiedTo && group === null) return;
  const notations = element.ele('notations');
  if (piece.tiedFrom) notations.ele('tied', { type: 'stop' });
  if (piece.tiedTo) notations.ele('tied', { type: 'start' });
  if (group !== null)
    notations.ele('tuplet', { type: group, ...(group === 'start' ? { bracket: 'yes' } : {}) });
}

function writeLyric(element: XMLBuilder, verse: number, sung: Sung): void {
  // Inside a word hyphens show that a syllable goes on; at its end a line does.
  if (sung.kind === 'hold' && sung.inWord) return;
  const lyric = element.ele('lyric', { number: String(verse) });
  if (sung.kind === 'hold') {
    lyric.ele('extend', { type: sung.last ? 'stop' : 'continue' });
    return;
  }
  lyric.ele('syllabic').txt(sung.syllabic);
  lyric.ele('text').txt(clean(sung.text));
  if (sung.holds > 0 && !goesOn(sung)) lyric.ele('extend', { type: 'start' });
}
