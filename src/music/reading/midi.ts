import { type MidiData, type MidiEvent, parseMidi } from 'midi-file';
import { decodeText } from '../../text/decode-text.ts';
import type { Melody } from '../melody.ts';
import { checkedMelody } from './check-melody.ts';
import { musicError } from './fault.ts';
import { checkMidiEvents } from './midi-events.ts';
import { droppedRemark, oneVoice, type RawNote } from './voice.ts';
import { choosePart, type TuneChoice } from './which-part.ts';

/** Channel 10, or 9 counted from 0, is percussion in General MIDI. */
const PERCUSSION_CHANNEL = 9;
/** Microseconds per quarter note in a file that sets no tempo: 120 a minute (MIDI Files Specification 1.0). */
const USUAL_QUARTER_US = 500_000;

/** The notes of one channel of one track. */
interface Strand {
  readonly track: number;
  readonly channel: number;
  readonly raw: RawNote[];
}

/**
 * Reads the melody of a standard MIDI file (formats 0 and 1). Of several tracks and channels with notes it reads the one
 * asked for, else the one named as the melody, else the highest, and never percussion. Notes that begin and end together are
 * a chord. Lyrics belong to the note at their time.
 * @param name  what to call the file in an error
 * @throws ReedtraceError E_MUSIC_INVALID; E_USAGE for a track that the file does not have
 */
export function readMidi(bytes: Uint8Array, name: string, choice: TuneChoice = {}): Melody {
  const midi = parse(bytes, name);
  const beatsPerTick = tickLength(midi, name);
  const strands: Strand[] = [];
  const words = new Map<number, string>();
  const trackNames = new Map<number, string>();
  let quarterUs: number | null = null;
  let tempoChanges = 0;
  let tonic: number | null = null;
  let metre: Melody['metre'] = null;
  let title: string | null = null;
  for (const [track, events] of midi.tracks.entries()) {
    strands.push(...strandsOf(events, track, beatsPerTick));
    let tick = 0;
    for (const event of events) {
      tick += event.deltaTime;
      switch (event.type) {
        case 'setTempo':
          if (quarterUs === null && event.microsecondsPerBeat > 0) quarterUs = event.microsecondsPerBeat;
          else if (event.microsecondsPerBeat !== quarterUs) tempoChanges++;
          break;
        case 'keySignature':
          // -7 to 7 sharps; scale 1 is minor, with its keynote a minor third below.
          tonic ??= (((7 * event.key + (event.scale === 1 ? 9 : 0)) % 12) + 12) % 12;
          break;
        case 'timeSignature':
          metre ??= { count: event.numerator, unit: event.denominator };
          break;
        case 'trackName':
          title ??= fromBytes(event.text).trim() || null;
          if (fromBytes(event.text).trim() !== '') trackNames.set(track, fromBytes(event.text).trim());
          break;
        case 'lyrics':
          words.set(tick, fromBytes(event.text).trim());
          break;
      }
    }
  }
  const played = strands.filter(({ channel }) => channel !== PERCUSSION_CHANNEL);
  if (played.length === 0) throw musicError(name, 'has no notes', 'give a MIDI file with a melody');
  const idOf = ({ track, channel }: Strand) =>
    played.filter((other) => other.track === track).length === 1
      ? `${track + 1}`
      : `${track + 1}.${channel + 1}`;
  const melodyOf = (strand: Strand): Melody => {
    const { notes, dropped } = oneVoice(
      strand.raw.map((note) => ({ ...note, word: words.get(Math.round(note.onsetBeats / beatsPerTick)) })),
    );
    const melody: Melody = {
      notes,
      title,
      beatsPerMinute: 60e6 / (quarterUs ?? USUAL_QUARTER_US),
      metre,
      tonic,
      lineStarts: [0],
      remarks: [...droppedRemark(dropped), ...(tempoChanges > 0 ? ['only the first tempo counts'] : [])],
    };
    return checkedMelody(melody, name);
  };
  if (played.length === 1 && choice.part === undefined) return melodyOf(played[0]);
  const tracks = played.map((strand) => ({ id: idOf(strand), name: trackNames.get(strand.track) ?? null }));
  return choosePart(
    tracks,
    choice.part,
    (id) => melodyOf(played.find((strand) => idOf(strand) === id)!),
    name,
    'track',
  );
}

function parse(bytes: Uint8Array, name: string): MidiData {
  if (String.fromCharCode(...bytes.subarray(0, 4)) !== 'MThd') {
    throw musicError(
      name,
      'is not a MIDI file (does not begin with MThd)',
      'give a standard MIDI file (.mid)',
    );
  }
  if (isCutShort(bytes)) throw musicError(name, 'is cut short', 'export it again');
  checkMidiEvents(bytes, name);
  let midi: MidiData;
  try {
    midi = parseMidi(bytes);
  } catch (cause) {
    // The parser throws plain strings.
    const why = cause instanceof Error ? cause.message : String(cause);
    throw musicError(name, `is a damaged MIDI file (${why})`, 'export it again', cause);
  }
  if (midi.header.format === 2) {
    throw musicError(name, 'is a MIDI file of format 2', 'save it as format 0 or 1');
  }
  return midi;
}

/** True if a chunk claims to be longer than the rest of the file. */
function isCutShort(bytes: Uint8Array): boolean {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let at = 0;
  while (at + 8 <= bytes.length) at += 8 + view.getUint32(at + 4);
  return at > bytes.length;
}

/** Beats per tick. Files timed in film frames have no beats, so a second counts as a quarter note at the default tempo. */
function tickLength({ header }: MidiData, name: string): number {
  if (header.ticksPerBeat && header.ticksPerBeat > 0) return 1 / header.ticksPerBeat;
  const { framesPerSecond, ticksPerFrame } = header;
  if (framesPerSecond && ticksPerFrame) {
    return 1e6 / USUAL_QUARTER_US / (framesPerSecond * ticksPerFrame);
  }
  throw musicError(name, 'is a MIDI file without a time division', 'export it again');
}

function strandsOf(events: readonly MidiEvent[], track: number, beatsPerTick: number): Strand[] {
  const strands = new Map<number, Strand>();
  const sounding = new Map<string, { midi: number; channel: number; startTick: number }>();
  let tick = 0;
  const end = (id: string): void => {
    const note = sounding.get(id);
    if (!note) return;
    sounding.delete(id);
    const strand = strands.get(note.channel) ?? { track, channel: note.channel, raw: [] };
    strands.set(note.channel, strand);
    strand.raw.push({
      midi: note.midi,
      onsetBeats: note.startTick * beatsPerTick,
      durationBeats: (tick - note.startTick) * beatsPerTick,
    });
  };
  for (const event of events) {
    tick += event.deltaTime;
    if (event.type !== 'noteOn' && event.type !== 'noteOff') continue;
    const id = `${event.channel} ${event.noteNumber}`;
    end(id);
    // A note-on of velocity 0 is a note-off; the parser has already turned it into one.
    if (event.type === 'noteOn') {
      sounding.set(id, { midi: event.noteNumber, channel: event.channel, startTick: tick });
    }
  }
  for (const id of [...sounding.keys()]) end(id);
  return [...strands.values()].sort((a, b) => a.channel - b.channel);
}

/** Texts in MIDI files are bytes without a stated encoding: read as UTF-8 if they are valid UTF-8. */
function fromBytes(latin1: string): string {
  return decodeText(Uint8Array.from(latin1, (character) => character.charCodeAt(0)));
}
