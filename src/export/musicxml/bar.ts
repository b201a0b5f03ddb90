import type { XMLBuilder } from 'xmlbuilder2/lib/interfaces.js';
import { isCompound, TICKS_PER_BEAT } from '../../music/rhythm/metre.ts';
import { harpInWords } from '../head.ts';
import { accidentalsOf } from '../notation/accidentals.ts';
import type { Bar } from '../notation/bars.ts';
import { beamsOf } from '../notation/beams.ts';
import type { StaffSymbol } from '../notation/staff-symbols.ts';
import type { Score } from '../score.ts';
import { writeOrnamentWords, writeSymbol } from './note.ts';
import { clean, type MusicXmlOptions } from './options.ts';

/** Beyond these mean pitches the staff is written an octave away, for fewer ledger lines (common practice). */
const HIGH_MIDI = 84;
const LOW_MIDI = 55;

/** A bar of rest, where nothing was played. */
export function writeEmptyBar(part: XMLBuilder, score: Score): void {
  const measure = part.ele('measure', { number: '1' });
  writeAttributes(measure, score);
  const note = measure.ele('note');
  note.ele('rest', { measure: 'yes' });
  note.ele('duration').txt(String(4 * TICKS_PER_BEAT));
  note.ele('voice').txt('1');
}

/** A bar of the tune; the first has the heading. */
export function writeBar(
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
  if (bar.symbols.length === 1 && bar.symbols[0].note === null) {
    const rest = measure.ele('note');
    rest.ele('rest', { measure: 'yes' });
    rest.ele('duration').txt(String(bar.ticks));
    rest.ele('voice').txt('1');
  } else {
    const { metre } = score.beats;
    const beams = beamsOf(bar, metre !== null && isCompound(metre) ? 1.5 * TICKS_PER_BEAT : TICKS_PER_BEAT);
    const begun = symbolsBefore(bars, index);
    const accidentals = accidentalsOf([...begun, ...bar.symbols], score.fifths).slice(begun.length);
    for (const [i, symbol] of bar.symbols.entries()) {
      // On the sheet, these words are below the tab.
      if (symbol.note !== null && !symbol.tiedFrom && options.part === undefined) {
        writeSection(measure, symbol.note.section);
        writeOrnamentWords(measure, symbol.note);
      }
      for (const [of, midi] of (symbol.note?.midis ?? [null]).entries()) {
        const sign = { midi, accidental: accidentals[i][of] ?? null, first: of === 0 };
        writeSymbol(measure, symbol, sign, beams[i], score, options);
      }
    }
  }
  const last = bar.symbols.some(({ note }) => note?.index === score.notes.length - 1);
  if (index === bars.length - 1 && (options.part === undefined || last)) {
    measure.ele('barline', { location: 'right' }).ele('bar-style').txt('light-heavy');
  } else if (bar.open || score.beats.metre === null) {
    const style = bar.open ? 'none' : 'dotted';
    measure.ele('barline', { location: 'right' }).ele('bar-style').txt(style);
  }
}

/** The symbols before a bar in the same line with no bar line between. */
function symbolsBefore(bars: readonly Bar[], index: number): StaffSymbol[] {
  let from = index;
  while (from > 0 && !bars[from].startsLine && bars[from - 1].open) from--;
  return bars.slice(from, index).flatMap(({ symbols }) => symbols);
}

function writeAttributes(measure: XMLBuilder, score: Score, withTime = true): void {
  const attributes = measure.ele('attributes');
  attributes.ele('divisions').txt(String(TICKS_PER_BEAT));
  attributes.ele('key').ele('fifths').txt(String(score.fifths));
  const { metre } = score.beats;
  if (!withTime) {
    // Lines after the first don't repeat the metre.
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

/** The name of a section that begins here, as a rehearsal mark. */
function writeSection(measure: XMLBuilder, name: string | undefined): void {
  if (name === undefined) return;
  const direction = measure.ele('direction', { placement: 'above' });
  direction.ele('direction-type').ele('rehearsal').txt(clean(name));
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
