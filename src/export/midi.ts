import { type MidiEvent, writeMidi } from 'midi-file';
import { TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import { shakeRate } from '../tab/ornament.ts';
import { goesOn, printSyllable } from '../take/words.ts';
import { leftOverInWords, type Score, type ScoreNote } from './score.ts';

export interface MidiOptions {
  /** Write times, pitches and levels as measured instead of written values. */
  readonly asPlayed: boolean;
}

/** MIDI ticks in a quarter note. */
const DIVISION = 480;
const SCALE = DIVISION / TICKS_PER_BEAT;
/** General MIDI program of the harmonica, counted from 0. */
const HARMONICA_PROGRAM = 22;
/** Pitch-bend range in semitones each way (RPN 0), and the value for no bend (MIDI 1.0). */
const BEND_RANGE = 2;
const BEND_CENTRE = 8192;
/** Velocity of written notes, and how much a decibel more or less changes it as played. */
const VELOCITY = 84;
const VELOCITY_PER_DB = 2;

/** An event at a time in ticks from the start; of events at the same time, the one with the lower rank comes first. */
interface Timed {
  readonly at: number;
  readonly rank: number;
  readonly event: MidiEvent;
}

/** midi-file writes Latin-1, so each UTF-8 byte is passed as a character of its own. */
function asUtf8(text: string): string {
  return Buffer.from(text, 'utf8').toString('latin1');
}

/**
 * A score as a MIDI file (Standard MIDI Files 1.0, format 1): tempo, metre, key and title on the first track, the
 * harmonica with the first verse as lyrics on the second. Since MIDI has one row of lyrics, further verses and words
 * without a note are written as text at the start. As played: one channel with pitch bend for the measured intonation,
 * and onsets from the start of the recording.
 */
export function writeMidiFile(score: Score, options: MidiOptions): Uint8Array {
  const tracks = [conductor(score), harmonica(score, options)].map((events) => trackBytes(inDeltas(events)));
  const header = Buffer.from('MThd\0\0\0\x06\0\x01', 'latin1');
  const counts = Buffer.alloc(4);
  counts.writeUInt16BE(tracks.length, 0);
  counts.writeUInt16BE(DIVISION, 2);
  return Buffer.concat([header, counts, ...tracks]);
}

/**
 * Number of events given to the library at once: it copies everything written so far for each text and each long time.
 */
const PORTION = 500;
/** Header chunk of a file, and head of a track chunk (Standard MIDI Files 1.0). */
const HEADER_BYTES = 14;
const CHUNK_HEAD_BYTES = 8;

/**
 * A track as a chunk, written in portions, so that the work grows with the number of events and not with its square.
 */
function trackBytes(events: readonly MidiEvent[]): Uint8Array {
  const portions: Uint8Array[] = [];
  for (let from = 0; from < events.length; from += PORTION) {
    const track = events.slice(from, from + PORTION);
    const file = writeMidi({ header: { format: 0, numTracks: 1, ticksPerBeat: DIVISION }, tracks: [track] });
    portions.push(Uint8Array.from(file.slice(HEADER_BYTES + CHUNK_HEAD_BYTES)));
  }
  const head = Buffer.from('MTrk\0\0\0\0', 'latin1');
  head.writeUInt32BE(
    portions.reduce((sum, { length }) => sum + length, 0),
    4,
  );
  return Buffer.concat([head, ...portions]);
}

function conductor(score: Score): Timed[] {
  const { beats, fifths, title } = score;
  const events: MidiEvent[] = [
    { deltaTime: 0, type: 'trackName', text: asUtf8(title) },
    { deltaTime: 0, type: 'setTempo', microsecondsPerBeat: Math.round(60e6 / beats.tempoBpm) },
    { deltaTime: 0, type: 'keySignature', key: fifths, scale: 0 },
  ];
  if (beats.metre !== null) {
    events.push({
      deltaTime: 0,
      type: 'timeSignature',
      numerator: beats.metre.count,
      denominator: beats.metre.unit,
      metronome: 24,
      thirtyseconds: 8,
    });
  }
  const left = leftOverInWords(score).map((line) => `Words without a note: ${line}`);
  for (const text of [...furtherVerses(score), ...left]) {
    events.push({ deltaTime: 0, type: 'text', text: asUtf8(text) });
  }
  return events.map((event, rank) => ({ at: 0, rank, event }));
}

/** The second and later verses, one per line. */
function furtherVerses({ notes, verses }: Score): string[] {
  return Array.from({ length: Math.max(0, verses - 1) }, (_, i) => {
    const sung = notes.map((note) => lyricOf(note, i + 1) ?? '').join('');
    return `${i + 2}. ${sung.trim()}`;
  });
}

/** Ticks at which a note begins and ends. */
function timesOf(note: ScoreNote, score: Score, asPlayed: boolean): [on: number, off: number] {
  if (!asPlayed) {
    const on = note.atTicks * SCALE;
    return [on, on + note.lengthTicks * SCALE];
  }
  const toTicks = (sec: number) => Math.round((sec * score.beats.tempoBpm * DIVISION) / 60);
  const next = score.notes[note.index + 1];
  const on = toTicks(note.played.onsetSec);
  const end = next ? Math.min(note.played.offsetSec, next.played.onsetSec) : note.played.offsetSec;
  return [on, Math.max(on + 1, toTicks(end))];
}

function harmonica(score: Score, { asPlayed }: MidiOptions): Timed[] {
  const { harp } = score.take;
  const events: Timed[] = [];
  const add = (at: number, rank: number, event: MidiEvent) => events.push({ at, rank, event });
  add(0, 0, { deltaTime: 0, type: 'trackName', text: asUtf8(`Harmonica in ${harp.key}`) });
  add(0, 0, { deltaTime: 0, type: 'programChange', channel: 0, programNumber: HARMONICA_PROGRAM });
  if (asPlayed) for (const [controller, value] of BEND_RANGE_SETUP) add(0, 0, control(controller, value));
  const meanDb = score.notes.reduce((sum, { played }) => sum + played.levelDb, 0) / (score.notes.length || 1);
  for (const note of score.notes) {
    const [on, off] = timesOf(note, score, asPlayed);
    const lyric = lyricOf(note, 0);
    if (note.section !== undefined) add(on, 2, { deltaTime: 0, type: 'marker', text: asUtf8(note.section) });
    if (lyric !== null) add(on, 2, { deltaTime: 0, type: 'lyrics', text: asUtf8(lyric) });
    if (asPlayed) add(on, 3, { deltaTime: 0, type: 'pitchBend', channel: 0, value: bendOf(note) });
    const velocity = asPlayed
      ? Math.max(20, Math.min(120, Math.round(VELOCITY + VELOCITY_PER_DB * (note.played.levelDb - meanDb))))
      : VELOCITY;
    for (const { noteNumber, from, to } of soundsOf(note, on, off, score)) {
      add(from, 4, { deltaTime: 0, type: 'noteOn', channel: 0, noteNumber, velocity });
      add(to, 1, { deltaTime: 0, type: 'noteOff', channel: 0, noteNumber, velocity: 64 });
    }
  }
  return events;
}

/** All pitches of a note, at once or alternating. */
function soundsOf(
  { midis, played }: ScoreNote,
  on: number,
  off: number,
  { beats }: Score,
): { noteNumber: number; from: number; to: number }[] {
  if (!played.shake) return midis.map((noteNumber) => ({ noteNumber, from: on, to: off }));
  const turn = (beats.tempoBpm * DIVISION) / 60 / shakeRate(played);
  const turns = Math.max(midis.length, Math.round((off - on) / turn));
  const at = (i: number) => on + Math.round(((off - on) * i) / turns);
  return Array.from({ length: turns }, (_, i) => ({
    noteNumber: midis[i % midis.length],
    from: at(i),
    to: at(i + 1),
  })).filter(({ from, to }) => to > from);
}

function control(controllerType: number, value: number): MidiEvent {
  return { deltaTime: 0, type: 'controller', channel: 0, controllerType, value };
}

/** RPN 0 (pitch-bend range), then no RPN, so that later data entry does no harm. */
const BEND_RANGE_SETUP: readonly (readonly [controller: number, value: number])[] = [
  [101, 0],
  [100, 0],
  [6, BEND_RANGE],
  [38, 0],
  [101, 127],
  [100, 127],
];

/** Measured pitch relative to the written note, as a signed bend value. */
function bendOf(note: ScoreNote): number {
  const semitones = note.played.midi - note.midi;
  const value = Math.round((BEND_CENTRE * semitones) / BEND_RANGE);
  return Math.max(-BEND_CENTRE, Math.min(BEND_CENTRE - 1, value));
}

/** A syllable as a MIDI lyric: with a hyphen if its word continues, with a space if it ends. */
function lyricOf(note: ScoreNote, verse: number): string | null {
  const sung = note.sung[verse];
  if (sung?.kind !== 'begin') return null;
  return `${printSyllable(sung)}${goesOn(sung) ? '' : ' '}`;
}

function inDeltas(events: readonly Timed[]): MidiEvent[] {
  const sorted = events.toSorted((a, b) => a.at - b.at || a.rank - b.rank);
  let at = 0;
  const track = sorted.map(({ at: tick, event }) => {
    const deltaTime = tick - at;
    at = tick;
    return { ...event, deltaTime };
  });
  track.push({ deltaTime: 0, type: 'endOfTrack' });
  return track;
}
