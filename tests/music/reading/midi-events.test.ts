import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readMidi } from '../../../src/music/reading/midi.ts';

const bytesOf = (hex: string): Uint8Array => new Uint8Array(Buffer.from(hex.replace(/ /g, ''), 'hex'));

/** A file of one track, 480 ticks a quarter note. */
function fileOf(track: string): Uint8Array {
  const events = bytesOf(track);
  const length = events.length.toString(16).padStart(8, '0');
  return bytesOf(`4d546864 00000006 0000 0001 01e0 4d54726b ${length} ${track}`);
}
const read = (track: string) => readMidi(fileOf(track), 'a.mid');

describe('events of a MIDI file', () => {
  it.each([
    // Standard MIDI Files 1.0, examples of variable-length quantities
    ['00', 0x00],
    ['40', 0x40],
    ['7f', 0x7f],
    ['81 00', 0x80],
    ['c0 00', 0x2000],
    ['ff 7f', 0x3fff],
    ['81 80 00', 0x4000],
    ['c0 80 00', 0x100000],
    ['ff ff 7f', 0x1fffff],
    ['81 80 80 00', 0x200000],
    ['c0 80 80 00', 0x8000000],
    ['ff ff ff 7f', 0xfffffff],
  ])('%s is a time of %i ticks', (quantity, ticks) => {
    const { notes } = read(`${quantity} 90 3c 50 83 60 80 3c 00 00 ff 2f 00`);
    expect(notes).toEqual([{ midi: 60, onsetBeats: expect.closeTo(ticks / 480, 6), durationBeats: 1 }]);
  });

  it.each([
    ['a time of five bytes', '81 80 80 80 00 90 3c 50', 'byte 26: a length of more than 4 bytes'],
    ['a text longer than its track', '00 ff 01 7f 41', 'byte 26: the track ends inside an event'],
    ['a track that ends inside a note', '00 90 3c', 'byte 24: the track ends inside an event'],
    ['a track that ends inside a time', '00 90 3c 50 81', 'byte 27: the track ends inside an event'],
    ['a message of the system', '00 f4 00', 'byte 23: no event begins with F4'],
    ['data before any event', '00 3c 50', 'byte 23: a note without a status byte before it'],
  ])('refuses %s', (_, track, why) => {
    expect(() => read(track)).toThrow(`'a.mid' is a damaged MIDI file (${why})`);
  });

  it('refuses a text whose length points back to its own position', () => {
    const bytes = readFileSync(new URL('../../fuzz/corpus/midi/length-goes-back.mid', import.meta.url));
    expect(bytes.length).toBe(62);
    expect(() => readMidi(bytes, 'back.mid')).toThrow(/damaged MIDI file \(byte 38: a length of more than 4/);
  });

  it('keeps running status across a text, as the parser does', () => {
    const { notes } = read('00 90 3c 50 00 ff 01 01 41 83 60 3c 00 00 ff 2f 00');
    expect(notes).toEqual([{ midi: 60, onsetBeats: 0, durationBeats: 1 }]);
  });
});
