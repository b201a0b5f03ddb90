import type { XMLBuilder } from 'xmlbuilder2/lib/interfaces.js';
import { ornamentsInWords, ornamentsOf } from '../../tab/ornament.ts';
import { formatPlayedNote } from '../../tab/text.ts';
import { goesOn } from '../../take/words.ts';
import type { Accidental } from '../notation/accidentals.ts';
import type { BeamValue } from '../notation/beams.ts';
import { spell } from '../notation/spelling.ts';
import type { StaffSymbol } from '../notation/staff-symbols.ts';
import type { Score, ScoreNote, Sung } from '../score.ts';
import { clean, type MusicXmlOptions, noteElementId } from './options.ts';

/** The first line of lyrics is the tab: only there do notation programs set it large and on one level. */
const TAB_LYRIC = 'tab';
const TAB_FONT = { 'font-weight': 'bold', 'font-size': '16' };

/** One head of a symbol on the staff: a pitch with its accidental, or a rest. */
export interface Head {
  readonly midi: number | null;
  readonly accidental: Accidental | null;
  /** The lowest of a chord, which carries what is written once for all. */
  readonly first: boolean;
}

/** Writes one head; the first of a chord carries what is written once for all. */
export function writeSymbol(
  measure: XMLBuilder,
  symbol: StaffSymbol,
  { midi, accidental, first }: Head,
  beams: readonly BeamValue[],
  score: Score,
  options: MusicXmlOptions,
): void {
  const { note } = symbol;
  const named = note !== null && first && !symbol.tiedFrom;
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
  element.ele('duration').txt(String(symbol.ticks));
  if (symbol.tiedFrom) element.ele('tie', { type: 'stop' });
  if (symbol.tiedTo) element.ele('tie', { type: 'start' });
  element.ele('voice').txt('1');
  element.ele('type').txt(symbol.type);
  if (symbol.dots > 0) element.ele('dot');
  if (accidental !== null) element.ele('accidental').txt(accidental);
  if (symbol.triplet !== null) {
    const modification = element.ele('time-modification');
    modification.ele('actual-notes').txt('3');
    modification.ele('normal-notes').txt('2');
    modification.ele('normal-type').txt('eighth');
  }
  if (first) {
    for (const [level, value] of beams.entries())
      element.ele('beam', { number: String(level + 1) }).txt(value);
  }
  writeNotations(element, symbol, first);
  if (!first) return;
  if (note === null || symbol.tiedFrom) return;
  if (options.part !== undefined) {
    const lyric = element.ele('lyric', { number: '1' });
    lyric.ele('syllabic').txt('single');
    lyric.ele('text').txt(clean(options.part.spaceFor(note)));
    return;
  }
  const tab = element.ele('lyric', { number: '1', name: TAB_LYRIC });
  tab.ele('syllabic').txt('single');
  tab.ele('text', TAB_FONT).txt(formatPlayedNote(note.played, options.style).replace(/^(\/?)-/, '$1−'));
  for (const [verse, sung] of note.sung.entries()) if (sung) writeLyric(element, verse + 2, sung);
}

/** Strokes through the stem of a shake: as fast as the notes can be played. */
const SHAKE_STROKES = '3';

function writeNotations(element: XMLBuilder, symbol: StaffSymbol, first: boolean): void {
  const group = first && (symbol.triplet === 'start' || symbol.triplet === 'stop') ? symbol.triplet : null;
  const shake = first && symbol.note?.played.shake === true;
  const articulations = first ? slidesOf(symbol) : [];
  if (!symbol.tiedFrom && !symbol.tiedTo && group === null && !shake && articulations.length === 0) return;
  const notations = element.ele('notations');
  if (symbol.tiedFrom) notations.ele('tied', { type: 'stop' });
  if (symbol.tiedTo) notations.ele('tied', { type: 'start' });
  if (group !== null)
    notations.ele('tuplet', { type: group, ...(group === 'start' ? { bracket: 'yes' } : {}) });
  if (shake) notations.ele('ornaments').ele('tremolo', { type: 'single' }).txt(SHAKE_STROKES);
  if (articulations.length > 0) {
    const signs = notations.ele('articulations');
    for (const sign of articulations) signs.ele(sign);
  }
}

/** A scoop belongs to the beginning of a note, a fall to its end, even if it is tied. */
function slidesOf({ note, tiedFrom, tiedTo }: StaffSymbol): ('scoop' | 'falloff')[] {
  const kinds = new Set(note === null ? [] : ornamentsOf(note.played).map(({ kind }) => kind));
  return [
    ...(kinds.has('scoop') && !tiedFrom ? (['scoop'] as const) : []),
    ...(kinds.has('fall') && !tiedTo ? (['falloff'] as const) : []),
  ];
}

/** Writes ornaments that staff notation has no sign for, above the note where they begin. */
export function writeOrnamentWords(measure: XMLBuilder, note: ScoreNote): void {
  const vibrato = ornamentsOf(note.played).some(({ kind }) => kind === 'vibrato') ? ['vib.'] : [];
  const shake = note.played.shake === true ? ['shake'] : [];
  const words = [...shake, ...vibrato, ...ornamentsInWords(note.played)];
  if (words.length === 0) return;
  const direction = measure.ele('direction', { placement: 'above' });
  direction.ele('direction-type').ele('words', { 'font-style': 'italic' }).txt(words.join(', '));
}

function writeLyric(element: XMLBuilder, verse: number, sung: Sung): void {
  // Inside a word, hyphens show that a syllable is held; at its end, a line does.
  if (sung.kind === 'hold' && sung.inWord) return;
  const lyric = element.ele('lyric', { number: String(verse) });
  if (sung.kind === 'hold') {
    lyric.ele('extend', { type: sung.last ? 'stop' : 'continue' });
    return;
  }
  lyric.ele('syllabic').txt(sung.syllabic);
  lyric.ele('text', sung.lang === null ? {} : { 'xml:lang': sung.lang }).txt(clean(sung.text));
  if (sung.holds > 0 && !goesOn(sung)) lyric.ele('extend', { type: 'start' });
}
