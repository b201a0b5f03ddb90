import type { ByteSource } from '../source.ts';
import { tag, view } from './bytes.ts';
import type { PcmLayout } from './pcm.ts';
import { checkFormat, damaged } from './refuse.ts';

/** A file with more chunks than this was made to waste time; recorders write only a handful. */
const MOST_CHUNKS = 10_000;

/**
 * Reads the chunks of an AIFF or AIFF-C file (Apple, "Audio Interchange File Format", 1989 and 1991) without the sound.
 * Written here because audio-decode needs the whole file and reads 8-bit samples as unsigned.
 * @returns null for compressed sound, which a codec has to undo
 * @throws ReedtraceError E_DAMAGED_AUDIO for a cut header or impossible values
 */
export async function readAiffHeader(source: ByteSource): Promise<PcmLayout | null> {
  const compressedKind = (await source.readAt(8, 4))[3] === 0x43; // AIFC
  let common: DataView | null = null;
  let sound: { start: number; bytes: number } | null = null;
  let position = 12;
  for (let n = 0; n < MOST_CHUNKS && position + 8 <= source.size; n++) {
    const head = view(await source.readAt(position, 16));
    const id = tag(head, 0);
    const bytes = head.getUint32(4, false);
    const start = position + 8;
    if (id === 'COMM') common = view(await source.readAt(start, Math.min(bytes, 32)));
    if (id === 'SSND' && head.byteLength === 16) {
      const offset = head.getUint32(8, false);
      sound = { start: start + 8 + offset, bytes: Math.max(0, bytes - 8 - offset) };
    }
    position = start + bytes + (bytes % 2);
  }
  if (!common || common.byteLength < (compressedKind ? 22 : 18)) {
    throw damaged(source.file, `its format chunk is missing or cut short (${source.size} bytes in all)`);
  }
  const channels = common.getInt16(0, false);
  const frames = common.getUint32(2, false);
  const bits = common.getInt16(6, false);
  const sampleRate = float80(common, 8);
  checkFormat(source.file, sampleRate, channels);
  const coding = compressedKind ? tag(common, 18) : 'NONE';
  const kind = CODINGS[coding];
  if (!kind) return null;
  const bytesPerSample = kind.bytesPerSample ?? Math.ceil(bits / 8);
  if (!(bytesPerSample >= 1 && bytesPerSample <= 4) && kind.encoding !== 'float') {
    throw damaged(source.file, `its header announces ${bits}-bit samples`);
  }
  if (!sound) {
    if (frames > 0) throw damaged(source.file, 'it ends before its sound begins');
    sound = { start: source.size, bytes: 0 };
  }
  return {
    encoding: kind.encoding,
    bytesPerSample,
    bigEndian: kind.bigEndian,
    channels,
    sampleRate,
    dataStart: sound.start,
    // Writers that can't seek back leave one of the two at 0.
    dataBytes: frames > 0 ? frames * channels * bytesPerSample : sound.bytes || Number.POSITIVE_INFINITY,
  };
}

/** AIFF-C compression types that are plain samples. */
const CODINGS: Record<
  string,
  { encoding: 'integer' | 'unsigned' | 'float'; bigEndian: boolean; bytesPerSample?: number }
> = {
  NONE: { encoding: 'integer', bigEndian: true },
  twos: { encoding: 'integer', bigEndian: true },
  sowt: { encoding: 'integer', bigEndian: false },
  'raw ': { encoding: 'unsigned', bigEndian: true, bytesPerSample: 1 },
  in24: { encoding: 'integer', bigEndian: true, bytesPerSample: 3 },
  in32: { encoding: 'integer', bigEndian: true, bytesPerSample: 4 },
  fl32: { encoding: 'float', bigEndian: true, bytesPerSample: 4 },
  FL32: { encoding: 'float', bigEndian: true, bytesPerSample: 4 },
  fl64: { encoding: 'float', bigEndian: true, bytesPerSample: 8 },
  FL64: { encoding: 'float', bigEndian: true, bytesPerSample: 8 },
};

/** 80-bit extended number of IEEE 754-1985: sign and exponent (bias 16383) in 16 bits, then a 64-bit mantissa. */
function float80(bytes: DataView, at: number): number {
  const exponent = bytes.getUint16(at, false);
  const mantissa = bytes.getUint32(at + 2, false) * 2 ** 32 + bytes.getUint32(at + 6, false);
  const magnitude = mantissa * 2 ** ((exponent & 0x7fff) - 16383 - 63);
  return exponent & 0x8000 ? -magnitude : magnitude;
}
