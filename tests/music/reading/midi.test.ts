import { type MidiEvent, writeMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { readMidi } from '../../../src/music/reading/midi.ts';

const file = (tracks: MidiEvent[][], format: 0 | 1 | 2 = 1) =>
  Uint8Array.from(writeMidi({ header: { format, numTracks: tracks.length, ticksPerBeat: 480 }, tracks }));
const on = (deltaTime: number, noteNumber: number, channel = 0): MidiEvent => ({
  type: 'noteOn',
  deltaTime,
  noteNumber,
  velocity: 80,
  channel,
});
const off = (deltaTime: number, noteNumber: number, channel = 0): MidiEvent => ({
  type: 'noteOff',
  deltaTime,
  noteNumber,
  velocity: 0,
  channel,
});
const end: MidiEvent = { type: 'endOfTrack', deltaTime: 0, meta: true };

describe('MIDI files', () => {
  it('reads the example of the specification', () => {
    // MIDI Files Specification 1.0, example of format 0: 96 ticks a quarter, E5 on channel 1 from 192 to 384
    const hex =
      '4D546864 00000006 0000 0001 0060 4D54726B 0000003B' +
      '00FF580404021808 00FF510307A120 00C005 00C12E 00C246' +
      '00923060 003C60 60914340 60904C20 814082304000 3C40 00814340 00804C40 00FF2F00';
    const bytes = Uint8Array.from(
      hex
        .replace(/ /g, '')
        .match(/../g)!
        .map((pair) => Number.parseInt(pair, 16)),
    );
    const melody = readMidi(bytes, 'example.mid');
    expect(melody.notes).toEqual([{ midi: 76, onsetBeats: 2, durationBeats: 2 }]);
    expect(melody.beatsPerMinute).toBe(120);
    expect(melody.metre).toEqual({ count: 4, unit: 4 });
    expect(melody.remarks).toEqual([
      "of 3 tracks '1.1' was read, the highest; choose another with --part: '1.1', '1.2', '1.3'",
    ]);
  });

  it('reads the highest notes of the first track that is not percussion', () => {
    const melody = readMidi(
      file([
        [{ type: 'keySignature', deltaTime: 0, key: -3, scale: 1, meta: true }, end],
        [on(0, 36, 9), off(480, 36, 9), end],
        [
          on(0, 60),
          on(0, 67),
          off(480, 60),
          off(0, 67),
          on(0, 62),
          on(240, 64),
          off(480, 62),
          off(0, 64),
          end,
        ],
      ]),
      'x.mid',
    );
    expect(melody.tonic).toBe(0); // three flats, minor: C minor
    expect(melody.notes).toEqual([
      { midi: 67, onsetBeats: 0, durationBeats: 1, chord: [60, 67] },
      { midi: 62, onsetBeats: 1, durationBeats: 0.5 },
      { midi: 64, onsetBeats: 1.5, durationBeats: 1 },
    ]);
    expect(melody.remarks.join(' ')).not.toMatch(/left out/);
  });

  it('reads notes that begin and end nearly together as a chord, and fast consecutive ones as a run', () => {
    const { notes } = readMidi(
      file([
        [
          on(0, 60),
          on(12, 64),
          on(10, 67),
          off(430, 64),
          off(8, 60),
          off(14, 67),
          on(6, 72),
          off(26, 72),
          on(0, 74),
          off(400, 74),
          end,
        ],
      ]),
      'x.mid',
    );
    expect(notes.map(({ midi, chord = null }) => [midi, chord])).toEqual([
      [67, [60, 64, 67]],
      [72, null],
      [74, null],
    ]);
  });

  it('reads words as UTF-8 and a note that never ends', () => {
    const latin1 = (text: string) => Buffer.from(text, 'utf8').toString('latin1');
    const melody = readMidi(
      file([
        [
          { type: 'trackName', deltaTime: 0, text: latin1('Žalm'), meta: true },
          { type: 'lyrics', deltaTime: 0, text: latin1('né'), meta: true },
          on(0, 60),
          off(480, 60),
          on(0, 62),
          { ...end, deltaTime: 240 },
        ],
      ]),
      'x.mid',
    );
    expect(melody.title).toBe('Žalm');
    expect(melody.notes).toEqual([
      { midi: 60, onsetBeats: 0, durationBeats: 1, word: 'né' },
      { midi: 62, onsetBeats: 1, durationBeats: 0.5 },
    ]);
  });

  it.each([
    ['text', new TextEncoder().encode('hello'), /does not begin with MThd/],
    ['nothing', new Uint8Array(), /MThd/],
    ['a cut file', file([[on(0, 60), off(480, 60), end]]).slice(0, 30), /is cut short/],
    ['no notes', file([[end]]), /has no notes/],
    ['format 2', file([[on(0, 60), off(480, 60), end]], 2), /format 2/],
  ])('refuses %s', (_, bytes, message) => {
    expect(() => readMidi(bytes, 'x.mid')).toThrow(
      expect.objectContaining({ code: 'E_MUSIC_INVALID', message: expect.stringMatching(message) }),
    );
  });
});
