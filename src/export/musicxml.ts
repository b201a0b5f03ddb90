import { create } from 'xmlbuilder2';
import type { XMLBuilder } from 'xmlbuilder2/lib/interfaces.js';
import { isCompound, TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import { formatTabNote, type TabStyle } from '../tab/text.ts';
import { goesOn } from '../take/words.ts';
import { type Bar, buildBars, type Piece } from './notation/bars.ts';
import { type BeamValue, beamsOf } from './notation/beams.ts';
import { spell } from './notation/spelling.ts';
import { leftOverInWords, type Score, type Sung } from './score.ts';
import { xmlCharacters } from './xml-text.ts';

/** General MIDI program of the harmonica, counted from 1. */
const HARMONICA_PROGRAM = 23;
/** Beyond these mean pitches the staff is written an octave away, for fewer ledger lines (common practice). */
const HIGH_MIDI = 84;
const LOW_MIDI = 55;

/** Words that belong to no note have no place among the notes of MusicXML. */
const LEFT_OVER_FIELD = 'words that found no note';

export interface MusicXmlOptions {
  readonly style: TabStyle;
  /**
   * Where the tab goes: as fingering, where other programs look for how a note is played, or as the first line of
   * lyrics, where all of it stands on one level.
   */
  readonly tabAs: 'fingering' | 'lyric';
}

/** Ampersands are escaped here, since the writer leaves alone what looks like an entity (`&A;`). */
function clean(text: string): string {
  return xmlCharacters(text).replaceAll('&', '&amp;');
}

/**
 * A score as MusicXML 4.0 (W3C), partwise: tab as fingering under the staff, words as lyrics with syllabics and
 * extends, chromatic bends spelled in the key; words that found no note in a field of the header.
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
  identification.ele('encoding').ele('software').txt('Reedtrace');
  const left = leftOverInWords(score);
  if (left.length > 0) {
    const field = identification.ele('miscellaneous').ele('miscellaneous-field', { name: LEFT_OVER_FIELD });
    field.txt(clean(left.join('\n')));
  }
  const listed = root.ele('part-list').ele('score-part', { id: 'P1' });
  const { harp } = score.take;
  listed.ele('part-name').txt('Harmonica');
  const instrument = listed.ele('score-instrument', { id: 'P1-I1' });
  instrument.ele('instrument-name').txt(clean(`Harmonica in ${harp.key}, ${harp.tuning} tuning`));
  instrument.ele('instrument-sound').txt('wind.reed.harmonica');
  const midi = listed.ele('midi-instrument', { id: 'P1-I1' });
  midi.ele('midi-channel').txt('1');
  midi.ele('midi-program').txt(String(HARMONICA_PROGRAM));
  const part = root.ele('part', { id: 'P1' });
  const bars = buildBars(score);
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
  const measure = part.ele('measure', {
    number: String(number),
    ...(bar.pickup ? { implicit: 'yes' } : {}),
  });
  if (index > 0 && bars[index - 1].endsPhrase && score.beats.metre === null) {
    measure.ele('print', { 'new-system': 'yes' });
  }
  if (index === 0) {
    writeAttributes(measure, score);
    writeTempo(measure, score);
  }
  if (bar.pieces.length === 1 && bar.pieces[0].note === null) {
    const rest = measure.ele('note');
    rest.ele('rest', { measure: 'yes' });
    rest.ele('duration').txt(String(bar.ticks));
    rest.ele('voice').txt('1');
  } else {
    const { metre } = score.beats;
    const beams = beamsOf(bar, metre !== null && isCompound(metre) ? 1.5 * TICKS_PER_BEAT : TICKS_PER_BEAT);
    for (const [i, piece] of bar.pieces.entries()) writePiece(measure, piece, beams[i], score, options);
  }
  if (index === bars.length - 1) {
    measure.ele('barline', { location: 'right' }).ele('bar-style').txt('light-heavy');
  } else if (score.beats.metre === null) {
    measure.ele('barline', { location: 'right' }).ele('bar-style').txt('dotted');
  }
}

function writeAttributes(measure: XMLBuilder, score: Score): void {
  const attributes = measure.ele('attributes');
  attributes.ele('divisions').txt(String(TICKS_PER_BEAT));
  attributes.ele('key').ele('fifths').txt(String(score.fifths));
  const { metre } = score.beats;
  if (metre === null) {
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

function writePiece(
  measure: XMLBuilder,
  piece: Piece,
  beams: readonly BeamValue[],
  score: Score,
  options: MusicXmlOptions,
): void {
  const element = measure.ele('note');
  const { note } = piece;
  if (note === null) {
    element.ele('rest');
  } else {
    const { step, alter, octave } = spell(note.midi, score.fifths);
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
  if (piece.triplet !== null) {
    const modification = element.ele('time-modification');
    modification.ele('actual-notes').txt('3');
    modification.ele('normal-notes').txt('2');
    modification.ele('normal-type').txt('eighth');
  }
  for (const [level, value] of beams.entries()) element.ele('beam', { number: String(level + 1) }).txt(value);
  writeNotations(element, piece, options);
  if (note === null || piece.tiedFrom) return;
  if (options.tabAs === 'lyric') {
    const lyric = element.ele('lyric', { number: '1', name: 'tab' });
    lyric.ele('syllabic').txt('single');
    lyric.ele('text').txt(formatTabNote(note.played, options.style));
  }
  const above = options.tabAs === 'lyric' ? 1 : 0;
  for (const [verse, sung] of note.sung.entries()) if (sung) writeLyric(element, above + verse + 1, sung);
}

function writeNotations(element: XMLBuilder, piece: Piece, { style, tabAs }: MusicXmlOptions): void {
  const group = piece.triplet === 'start' || piece.triplet === 'stop' ? piece.triplet : null;
  const tab = tabAs === 'fingering' && piece.note !== null && !piece.tiedFrom;
  if (!piece.tiedFrom && !piece.tiedTo && group === null && !tab) return;
  const notations = element.ele('notations');
  if (piece.tiedFrom) notations.ele('tied', { type: 'stop' });
  if (piece.tiedTo) notations.ele('tied', { type: 'start' });
  if (group !== null)
    notations.ele('tuplet', { type: group, ...(group === 'start' ? { bracket: 'yes' } : {}) });
  if (!tab || piece.note === null) return;
  notations
    .ele('technical')
    .ele('fingering', { placement: 'below' })
    .txt(formatTabNote(piece.note.played, style));
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
