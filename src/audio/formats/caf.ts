import type { ByteSource } from '../source.ts';
import { tag, view } from './bytes.ts';
import { checkFormat, damaged } from './refuse.ts';

/** A file with more chunks than this was made to waste time; recorders write only a handful. */
const MOST_CHUNKS = 10_000;
/** Frames in a packet of the IMA coding of QuickTime, and bytes of one channel in it. */
const IMA_FRAMES = 64;
const IMA_BYTES = 34;
const WIDEST_SAMPLE_BITS = 64;

export interface CafHeader {
  /** Where the sound begins, after the edit count. */
  readonly dataStart: number;
  /** null when the writer did not know. */
  readonly seconds: number | null;
}

/**
 * Reads the chunks before the sound of a CAF file ("Apple Core Audio Format Specification 1.0"), and checks the
 * description of its packets, by which the decoder allocates memory.
 * @throws ReedtraceError E_DAMAGED_AUDIO
 */
export async function readCafHeader(source: ByteSource): Promise<CafHeader> {
  let secondsPerByte: number | null = null;
  for (let position = 8, n = 0; n < MOST_CHUNKS && position + 12 <= source.size; n++) {
    const head = view(await source.readAt(position, 44));
    const id = tag(head, 0);
    const size = Number(head.getBigInt64(4));
    if (id === 'desc') {
      if (head.byteLength < 44) throw damaged(source.file, 'its description is cut short');
      secondsPerByte = checkDescription(source.file, head);
    }
    if (id === 'data') {
      if (secondsPerByte === null) break;
      // Size -1: the writer did not know. The sound is preceded by a 4-byte edit count.
      const known = size > 4 && secondsPerByte > 0;
      return { dataStart: position + 16, seconds: known ? (size - 4) * secondsPerByte : null };
    }
    if (size < 0) break;
    position += 12 + size;
  }
  throw damaged(source.file, `it has no sound chunk behind a description (${source.size} bytes in all)`);
}

/** @returns seconds of sound per byte; 0 if packets differ in size */
function checkDescription(file: string, head: DataView): number {
  const sampleRate = head.getFloat64(12);
  const coding = tag(head, 20);
  const packetBytes = head.getUint32(28);
  const packetFrames = head.getUint32(32);
  const channels = head.getUint32(36);
  const bits = head.getUint32(40);
  checkFormat(file, sampleRate, channels);
  if (coding === 'ima4') {
    const isUsual =
      (packetFrames === IMA_FRAMES || packetFrames === 0) &&
      (packetBytes === IMA_BYTES * channels || packetBytes === 0);
    if (!isUsual) {
      throw damaged(file, `its header announces packets of ${packetFrames} frames and ${packetBytes} bytes`);
    }
  }
  if (coding === 'lpcm' && (bits < 8 || bits > WIDEST_SAMPLE_BITS)) {
    throw damaged(file, `its header announces ${bits}-bit samples`);
  }
  return packetBytes > 0 ? packetFrames / packetBytes / sampleRate : 0;
}
