import { musicError } from './fault.ts';

/** A variable-length quantity has at most four bytes (Standard MIDI Files 1.0: the largest is 0FFFFFFF). */
const LONGEST_QUANTITY = 4;
const META = 0xff;
const SYSEX = [0xf0, 0xf7];
/** Bytes after the status byte, by its upper four bits: one for program change and channel pressure, two for the others. */
const dataBytes = (status: number): number => (status >> 4 === 0xc || status >> 4 === 0xd ? 1 : 2);

/**
 * Walks through the events of every track before the parser does, so that it can't follow a length out of its track.
 * @throws ReedtraceError E_MUSIC_INVALID with the byte where a track goes wrong
 */
export function checkMidiEvents(bytes: Uint8Array, name: string): void {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  for (let at = 0; at + 8 <= bytes.length; ) {
    const end = at + 8 + view.getUint32(at + 4);
    if (String.fromCharCode(...bytes.subarray(at, at + 4)) === 'MTrk') walkTrack(bytes, at + 8, end, name);
    at = end;
  }
}

function walkTrack(bytes: Uint8Array, from: number, end: number, name: string): void {
  let at = from;
  let running: number | null = null;
  const fault = (what: string) =>
    musicError(name, `is a damaged MIDI file (byte ${at}: ${what})`, 'export it again');
  const quantity = (): number => {
    let value = 0;
    for (let n = 0; n < LONGEST_QUANTITY && at < end; n++) {
      const byte = bytes[at++];
      value = value * 128 + (byte & 0x7f);
      if (byte < 0x80) return value;
    }
    throw fault(
      at < end ? `a length of more than ${LONGEST_QUANTITY} bytes` : 'the track ends inside an event',
    );
  };
  while (at < end) {
    quantity();
    const status = bytes[at];
    let length: number;
    if (status === META) {
      at += 2;
      length = quantity();
    } else if (SYSEX.includes(status)) {
      at += 1;
      length = quantity();
    } else if (status >= 0xf0) {
      throw fault(`no event begins with ${status.toString(16).toUpperCase()}`);
    } else {
      if (status >= 0x80) {
        running = status;
        at += 1;
      }
      if (running === null) throw fault('a note without a status byte before it');
      length = dataBytes(running);
    }
    if (at + length > end) throw fault('the track ends inside an event');
    at += length;
  }
}
