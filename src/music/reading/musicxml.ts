import { LETTER_PITCH_CLASS } from '../../harp/keys.ts';
import { decodeText } from '../../text/decode-text.ts';
import type { Melody } from '../melody.ts';
import { pickupOf } from '../rhythm/metre.ts';
import { checkedMelody } from './check-melody.ts';
import { musicError } from './fault.ts';
import { aboveMajor } from './modes.ts';
import { unpackMxl } from './mxl.ts';
import { droppedRemark, oneVoice, type RawNote } from './voice.ts';
import { choosePart, type NamedPart, type TuneChoice } from './which-part.ts';
import { all, type Element, first, number, parseXml } from './xml.ts';

const BEAT_UNITS: Readonly<Record<string, number>> = {
  whole: 4,
  half: 2,
  quarter: 1,
  eighth: 0.5,
  '16th': 0.25,
};

/**
 * Reads the melody of a MusicXML score (4.0 or older, partwise), plain or zipped (.mxl): the part asked for, else the one
 * named as the melody, else the highest. It reads the first voice and, of a chord, the highest note. Ties are joined,
 * transposing parts are read at sounding pitch, grace notes and percussion are left out, and repeats are read only once.
 * @param name  what to call the file in an error
 * @throws ReedtraceError E_MUSIC_INVALID; E_USAGE for a part that the score does not have
 */
export function readMusicXml(bytes: Uint8Array, name: string, choice: TuneChoice = {}): Melody {
  const packed = bytes[0] === 0x50 && bytes[1] === 0x4b;
  const text = packed ? unpackMxl(bytes, name) : decodeText(bytes);
  const root = parseXml(text, name);
  if (root.name !== 'score-partwise') {
    throw musicError(
      name,
      root.name === 'score-timewise' ? 'is a timewise score' : `is not a score (begins with <${root.name}>)`,
      'export it as partwise MusicXML',
    );
  }
  const melodies = new Map<string, Melody>();
  const parts = all(root, 'part').flatMap((part, i): NamedPart[] => {
    const melody = readPart(part, root);
    if (melody === null) return [];
    const id = part.attributes.id ?? String(i + 1);
    melodies.set(id, checkedMelody(melody, name));
    return [{ id, name: nameOfPart(root, id) }];
  });
  if (parts.length === 0) throw musicError(name, 'has no pitched notes', 'give a score with a melody');
  const read = (id: string) => melodies.get(id)!;
  if (parts.length === 1 && choice.part === undefined) return read(parts[0].id);
  return choosePart(parts, choice.part, read, name, 'part');
}

function nameOfPart(root: Element, id: string): string | null {
  const list = first(root, 'part-list');
  const entry =
    list === undefined ? undefined : all(list, 'score-part').find(({ attributes }) => attributes.id === id);
  const name = entry === undefined ? undefined : first(entry, 'part-name')?.text.trim();
  return name === undefined || name === '' ? null : name;
}

/** What is known of a part so far, while going through its measures. */
interface Reading {
  atBeats: number;
  divisions: number;
  transpose: number;
  voice: string | null;
  tonic: number | null;
  metre: Melody['metre'];
  beatsPerMinute: number | null;
  repeats: boolean;
  otherVoices: number;
  readonly raw: RawNote[];
  /** For each pitch with an open tie, the position in `raw` of the note to extend. */
  readonly openTies: Map<number, number>;
  readonly lineBeats: number[];
}

function readPart(part: Element, root: Element): Melody | null {
  const reading: Reading = {
    atBeats: 0,
    divisions: 1,
    transpose: 0,
    voice: null,
    tonic: null,
    metre: null,
    beatsPerMinute: null,
    repeats: false,
    otherVoices: 0,
    raw: [],
    openTies: new Map(),
    lineBeats: [],
  };
  let firstBarBeats: number | null = null;
  for (const measure of all(part, 'measure')) {
    readMeasure(measure, reading);
    firstBarBeats ??= reading.atBeats > 0 ? reading.atBeats : null;
  }
  const { notes, dropped } = oneVoice(reading.raw);
  if (notes.length === 0) return null;
  const lineStarts = [0];
  let start = 0;
  for (const beats of reading.lineBeats) {
    while (start < notes.length && notes[start].onsetBeats < beats) start++;
    if (start < notes.length && start > lineStarts[lineStarts.length - 1]) lineStarts.push(start);
  }
  const title = (first(root, 'work', 'work-title') ?? first(root, 'movement-title'))?.text.trim();
  return {
    notes,
    title: title ? title : null,
    beatsPerMinute: reading.beatsPerMinute,
    metre: reading.metre,
    ...pickupOf(firstBarBeats, reading.metre),
    tonic: reading.tonic,
    lineStarts,
    remarks: [
      ...(reading.otherVoices > 0 ? ['only the first voice was read'] : []),
      ...droppedRemark(dropped),
      ...(reading.repeats ? ['repeats are read only once'] : []),
    ],
  };
}

function readMeasure(measure: Element, reading: Reading): void {
  const startBeats = reading.atBeats;
  let furthestBeats = startBeats;
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
        if (first(element, 'repeat')) reading.repeats = true;
        break;
    }
    furthestBeats = Math.max(furthestBeats, reading.atBeats);
  }
  reading.atBeats = furthestBeats;
}

function beatsOf(element: Element, { divisions }: Reading): number {
  return Math.max(0, number(first(element, 'duration')) ?? 0) / divisions;
}

function readAttributes(element: Element, reading: Reading): void {
  const divisions = number(first(element, 'divisions'));
  if (divisions !== null && divisions > 0) reading.divisions = divisions;
  const fifths = number(first(element, 'key', 'fifths'));
  if (fifths !== null && reading.tonic === null) {
    const mode = first(element, 'key', 'mode')?.text.trim() ?? 'major';
    const semitones = aboveMajor(mode);
    if (semitones !== null) reading.tonic = (((7 * fifths + semitones) % 12) + 12) % 12;
  }
  const count = number(first(element, 'time', 'beats'));
  const unit = number(first(element, 'time', 'beat-type'));
  if (count !== null && unit !== null && reading.metre === null) reading.metre = { count, unit };
  const transpose = first(element, 'transpose');
  if (transpose) {
    const octaves = number(first(transpose, 'octave-change')) ?? 0;
    reading.transpose = (number(first(transpose, 'chromatic')) ?? 0) + 12 * octaves;
  }
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
  if (first(note, 'grace')) return;
  const durationBeats = beatsOf(note, reading);
  const inChord = first(note, 'chord') !== undefined;
  const last = reading.raw[reading.raw.length - 1];
  const onsetBeats = inChord ? reading.atBeats - durationBeats : reading.atBeats;
  if (!inChord) reading.atBeats += durationBeats;
  const pitch = first(note, 'pitch');
  if (!pitch) return;
  const voice = first(note, 'voice')?.text.trim() ?? '1';
  reading.voice ??= voice;
  if (voice !== reading.voice) {
    reading.otherVoices++;
    return;
  }
  const step = LETTER_PITCH_CLASS[first(pitch, 'step')?.text.trim() ?? ''];
  const octave = number(first(pitch, 'octave'));
  if (step === undefined || octave === null) return;
  const alter = Math.round(number(first(pitch, 'alter')) ?? 0);
  const midi = 12 * (octave + 1) + step + alter + reading.transpose;
  const ties = all(note, 'tie').map((tie) => tie.attributes.type);
  const startsTie = ties.includes('start');
  if (ties.includes('stop')) {
    const open = reading.openTies.get(midi);
    if (open !== undefined) {
      const earlier = reading.raw[open];
      const joined = onsetBeats + durationBeats - earlier.onsetBeats;
      reading.raw[open] = { ...earlier, durationBeats: joined };
      if (!startsTie) reading.openTies.delete(midi);
      return;
    }
  }
  if (startsTie) reading.openTies.set(midi, reading.raw.length);
  reading.raw.push({
    midi,
    onsetBeats,
    durationBeats,
    word: inChord ? last?.word : wordOf(note),
  });
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
