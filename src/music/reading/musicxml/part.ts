import { LETTER_PITCH_CLASS } from '../../../harp/keys.ts';
import type { Melody } from '../../melody.ts';
import { pickupOf } from '../../rhythm/metre.ts';
import type { Mark } from '../jumps.ts';
import { aboveMajor } from '../modes.ts';
import { type RepeatSign, unfolded } from '../repeats.ts';
import { droppedRemark, oneVoice, type RawNote } from '../voice.ts';
import { Lyrics } from './lyrics.ts';
import { marksInBar, marksOf, type PlacedMark } from './marks.ts';
import { all, type Element, first, number } from './xml.ts';

const BEAT_UNITS: Readonly<Record<string, number>> = {
  whole: 4,
  half: 2,
  quarter: 1,
  eighth: 0.5,
  '16th': 0.25,
};

/** The notes of one voice so far. */
interface Voice {
  readonly raw: RawNote[];
  readonly lyrics: Lyrics;
  /** For each pitch with an open tie, the position in `raw` of the note to extend. */
  readonly openTies: Map<number, number>;
}

/** What is known of a part so far, while going through its measures. */
export interface Reading {
  atBeats: number;
  divisions: number;
  transpose: number;
  tonic: number | null;
  metre: Melody['metre'];
  beatsPerMinute: number | null;
  /** Length of the first bar that isn't empty; null before it. */
  firstBarBeats: number | null;
  readonly remarks: Set<string>;
  readonly signs: RepeatSign[];
  readonly marks: Mark[];
  readonly voices: Map<string, Voice>;
  readonly lineBeats: number[];
}

/** What a part says, measure by measure. */
export function readScorePart(part: Element): Reading {
  const reading: Reading = {
    atBeats: 0,
    divisions: 1,
    transpose: 0,
    tonic: null,
    metre: null,
    beatsPerMinute: null,
    firstBarBeats: null,
    remarks: new Set(),
    signs: [],
    marks: [],
    voices: new Map(),
    lineBeats: [],
  };
  for (const [bar, measure] of all(part, 'measure').entries()) {
    readMeasure(measure, bar, reading);
    reading.firstBarBeats ??= reading.atBeats > 0 ? reading.atBeats : null;
  }
  return reading;
}

/**
 * The voices of a part that have notes, by name, in the order of their names.
 * @param marks  where to jump; in a score they may stand over its first part only
 * @param repeats  false to read what is repeated only once
 */
export function voicesOfPart(
  reading: Reading,
  marks: readonly Mark[],
  title: string | null,
  repeats: boolean,
): Map<string, Melody> {
  const { beatsPerMinute, metre, tonic, lineBeats, signs, firstBarBeats } = reading;
  const melodies = new Map<string, Melody>();
  const inOrder = [...reading.voices].sort(([a], [b]) => a.localeCompare(b, 'en', { numeric: true }));
  for (const [voice, { raw, lyrics }] of inOrder) {
    const { notes: written, dropped } = oneVoice(lyrics.laidUnder(raw));
    if (written.length === 0) continue;
    const lines = lineStartsOf(written, lineBeats);
    const { notes, lineStarts, remarks } = unfolded(
      { notes: written, lineStarts: lines, signs, marks },
      !repeats,
    );
    melodies.set(voice, {
      notes,
      title,
      beatsPerMinute,
      metre,
      ...pickupOf(firstBarBeats, metre),
      tonic,
      lineStarts,
      remarks: [...droppedRemark(dropped), ...reading.remarks, ...remarks],
    });
  }
  return melodies;
}

function lineStartsOf(notes: Melody['notes'], lineBeats: readonly number[]): number[] {
  const lineStarts = [0];
  let start = 0;
  for (const beats of lineBeats) {
    while (start < notes.length && notes[start].onsetBeats < beats) start++;
    if (start < notes.length && start > lineStarts[lineStarts.length - 1]) lineStarts.push(start);
  }
  return lineStarts;
}

function readMeasure(measure: Element, bar: number, reading: Reading): void {
  const startBeats = reading.atBeats;
  const marks: PlacedMark[] = [];
  let furthestBeats = startBeats;
  const rightBarlines: Element[] = [];
  for (const element of measure.children) {
    switch (element.name) {
      case 'attributes':
        readAttributes(element, reading);
        break;
      case 'backup':
        reading.atBeats -= beatsOf(element, reading);
        break;
      case 'forward':
        reading.atBeats += beatsOf(element, reading);
        break;
      case 'note':
        readNote(element, bar, reading);
        break;
      case 'print':
        if (element.attributes['new-system'] === 'yes') reading.lineBeats.push(reading.atBeats);
        break;
      case 'sound':
      case 'direction':
        readMetronome(element, reading);
        readTempo(element.name === 'sound' ? element : first(element, 'sound'), reading);
        marks.push(...marksOf(element, reading.atBeats, reading.divisions));
        break;
      case 'barline':
        if (element.attributes.location === 'left') readBarline(element, reading, startBeats);
        else rightBarlines.push(element);
        break;
    }
    furthestBeats = Math.max(furthestBeats, reading.atBeats);
  }
  reading.atBeats = furthestBeats;
  reading.marks.push(...marksInBar(marks, startBeats, furthestBeats));
  for (const barline of rightBarlines) readBarline(barline, reading, furthestBeats);
}

/** Repeats and endings (MusicXML 4.0, `barline`). */
function readBarline(barline: Element, { signs }: Reading, atBeats: number): void {
  const repeat = first(barline, 'repeat')?.attributes;
  const ending = first(barline, 'ending')?.attributes;
  if (repeat?.direction === 'forward') signs.push({ atBeats, kind: 'begin' });
  if (ending?.type === 'start') {
    const numbers = (ending.number ?? '').split(/[\s,]+/).map(Number);
    signs.push({ atBeats, kind: 'ending', numbers });
  }
  const times = Number(repeat?.times) || undefined;
  if (repeat?.direction === 'backward') {
    const afterJump = repeat['after-jump'] === 'yes';
    signs.push({ atBeats, kind: 'end', ...(times && { times }), ...(afterJump && { afterJump }) });
  }
  if (repeat?.direction !== 'backward' && ending !== undefined && ending.type !== 'start')
    signs.push({ atBeats, kind: 'close' });
}

function beatsOf(element: Element, { divisions }: Reading): number {
  return Math.max(0, number(first(element, 'duration')) ?? 0) / divisions;
}

function readAttributes(element: Element, reading: Reading): void {
  const divisions = number(first(element, 'divisions'));
  if (divisions !== null && divisions > 0) reading.divisions = divisions;
  const transpose = first(element, 'transpose');
  if (transpose) {
    const octaves = number(first(transpose, 'octave-change')) ?? 0;
    reading.transpose = (number(first(transpose, 'chromatic')) ?? 0) + 12 * octaves;
  }
  const fifths = number(first(element, 'key', 'fifths'));
  if (fifths !== null && reading.tonic === null) {
    const mode = first(element, 'key', 'mode')?.text.trim() ?? 'major';
    const semitones = aboveMajor(mode);
    const written = 7 * fifths + (semitones ?? 0);
    if (semitones !== null) reading.tonic = (((written + reading.transpose) % 12) + 12) % 12;
  }
  const count = number(first(element, 'time', 'beats'));
  const unit = number(first(element, 'time', 'beat-type'));
  if (count !== null && unit !== null && reading.metre === null) reading.metre = { count, unit };
}

function readTempo(sound: Element | undefined, reading: Reading): void {
  const tempo = Number(sound?.attributes.tempo);
  if (reading.beatsPerMinute === null && tempo > 0) reading.beatsPerMinute = tempo;
}

function readMetronome(direction: Element, reading: Reading): void {
  const metronome = first(direction, 'direction-type', 'metronome');
  const perMinute = number(first(metronome, 'per-minute'));
  const unit = BEAT_UNITS[first(metronome, 'beat-unit')?.text.trim() ?? ''];
  if (reading.beatsPerMinute !== null || perMinute === null || unit === undefined || !(perMinute > 0)) return;
  reading.beatsPerMinute = perMinute * unit * (first(metronome, 'beat-unit-dot') ? 1.5 : 1);
}

function readNote(note: Element, bar: number, reading: Reading): void {
  if (first(note, 'grace')) {
    reading.remarks.add('grace notes were left out');
    return;
  }
  const durationBeats = beatsOf(note, reading);
  const inChord = first(note, 'chord') !== undefined;
  const onsetBeats = inChord ? reading.atBeats - durationBeats : reading.atBeats;
  if (!inChord) reading.atBeats += durationBeats;
  const midi = midiOf(note, reading);
  // A cue is what another part plays.
  if (midi === null || first(note, 'cue')) return;
  const name = first(note, 'voice')?.text.trim() ?? '1';
  const voice: Voice = reading.voices.get(name) ?? { raw: [], lyrics: new Lyrics(), openTies: new Map() };
  reading.voices.set(name, voice);
  const { raw, lyrics, openTies } = voice;
  const ties = all(note, 'tie').map((tie) => tie.attributes.type);
  const startsTie = ties.includes('start');
  if (ties.includes('stop')) {
    const open = openTies.get(midi);
    if (open !== undefined) {
      const earlier = raw[open];
      raw[open] = { ...earlier, durationBeats: onsetBeats + durationBeats - earlier.onsetBeats };
      if (!startsTie) openTies.delete(midi);
      return;
    }
  }
  if (startsTie) openTies.set(midi, raw.length);
  raw.push({ midi, onsetBeats, durationBeats });
  lyrics.add(note, bar, inChord);
}

/** The pitch as it sounds; null if the note has none. */
function midiOf(note: Element, { transpose }: Reading): number | null {
  const step = LETTER_PITCH_CLASS[first(note, 'pitch', 'step')?.text.trim() ?? ''];
  const octave = number(first(note, 'pitch', 'octave'));
  if (step === undefined || octave === null) return null;
  const alter = Math.round(number(first(note, 'pitch', 'alter')) ?? 0);
  return 12 * (octave + 1) + step + alter + transpose;
}
