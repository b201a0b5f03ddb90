import { LETTER_PITCH_CLASS } from '../../harp/keys.ts';
import type { Melody } from '../melody.ts';
import { pickupOf } from '../rhythm/metre.ts';
import { aboveMajor } from './modes.ts';
import { type RepeatSign, repeatRemarks, unfolded } from './repeats.ts';
import { droppedRemark, oneVoice, type RawNote } from './voice.ts';
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
  /** For each pitch with an open tie, the position in `raw` of the note to extend. */
  readonly openTies: Map<number, number>;
}

/** What is known of a part so far, while going through its measures. */
interface Reading {
  atBeats: number;
  divisions: number;
  transpose: number;
  tonic: number | null;
  metre: Melody['metre'];
  beatsPerMinute: number | null;
  readonly remarks: Set<string>;
  readonly signs: RepeatSign[];
  readonly voices: Map<string, Voice>;
  readonly lineBeats: number[];
}

/**
 * The voices of a part that have notes, by name, in the order of their names.
 * @param repeats  false to read what is repeated only once
 */
export function readScorePart(part: Element, title: string | null, repeats: boolean): Map<string, Melody> {
  const reading: Reading = {
    atBeats: 0,
    divisions: 1,
    transpose: 0,
    tonic: null,
    metre: null,
    beatsPerMinute: null,
    remarks: new Set(),
    signs: [],
    voices: new Map(),
    lineBeats: [],
  };
  let firstBarBeats: number | null = null;
  for (const measure of all(part, 'measure')) {
    readMeasure(measure, reading);
    firstBarBeats ??= reading.atBeats > 0 ? reading.atBeats : null;
  }
  const { beatsPerMinute, metre, tonic, remarks, lineBeats, signs } = reading;
  for (const remark of repeatRemarks(signs, !repeats)) remarks.add(remark);
  const melodies = new Map<string, Melody>();
  const inOrder = [...reading.voices].sort(([a], [b]) => a.localeCompare(b, 'en', { numeric: true }));
  for (const [voice, { raw }] of inOrder) {
    const { notes: written, dropped } = oneVoice(raw);
    if (written.length === 0) continue;
    const { notes, lineStarts } = unfolded(written, lineStartsOf(written, lineBeats), signs, !repeats);
    melodies.set(voice, {
      notes,
      title,
      beatsPerMinute,
      metre,
      ...pickupOf(firstBarBeats, metre),
      tonic,
      lineStarts,
      remarks: [...droppedRemark(dropped), ...remarks],
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

function readMeasure(measure: Element, reading: Reading): void {
  const startBeats = reading.atBeats;
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
        readNote(element, reading);
        break;
      case 'print':
        if (element.attributes['new-system'] === 'yes') reading.lineBeats.push(reading.atBeats);
        break;
      case 'sound':
        readTempo(element, reading);
        break;
      case 'direction':
        readMetronome(element, reading);
        readTempo(first(element, 'sound'), reading);
        break;
      case 'barline':
        if (element.attributes.location === 'left') readBarline(element, reading, startBeats);
        else rightBarlines.push(element);
        break;
    }
    furthestBeats = Math.max(furthestBeats, reading.atBeats);
  }
  reading.atBeats = furthestBeats;
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
  if (repeat?.direction === 'backward') signs.push({ atBeats, kind: 'end', ...(times && { times }) });
  else if (ending !== undefined && ending.type !== 'start') signs.push({ atBeats, kind: 'close' });
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

function readNote(note: Element, reading: Reading): void {
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
  const { raw, openTies } = reading.voices.get(name) ?? { raw: [], openTies: new Map<number, number>() };
  reading.voices.set(name, { raw, openTies });
  const last = raw[raw.length - 1];
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
  raw.push({ midi, onsetBeats, durationBeats, word: inChord ? last?.word : wordOf(note) });
}

/** The pitch as it sounds; null if the note has none. */
function midiOf(note: Element, { transpose }: Reading): number | null {
  const step = LETTER_PITCH_CLASS[first(note, 'pitch', 'step')?.text.trim() ?? ''];
  const octave = number(first(note, 'pitch', 'octave'));
  if (step === undefined || octave === null) return null;
  const alter = Math.round(number(first(note, 'pitch', 'alter')) ?? 0);
  return 12 * (octave + 1) + step + alter + transpose;
}

/** First line of lyrics that isn't the tab of our own files, with a hyphen after a syllable that its word continues. */
function wordOf(note: Element): string | undefined {
  const lyric = all(note, 'lyric').find(({ attributes }) => attributes.name !== 'tab');
  const text =
    lyric &&
    all(lyric, 'text')
      .map((element) => element.text)
      .join(' ')
      .trim();
  if (!text) return undefined;
  const syllabic = first(lyric, 'syllabic')?.text.trim();
  return syllabic === 'begin' || syllabic === 'middle' ? `${text}-` : text;
}
