import { ReedtraceError } from '../../errors.ts';
import type { ByteSource } from '../source.ts';
import { tag, view } from './bytes.ts';
import type { PcmLayout } from './pcm.ts';
import { checkFormat, damaged } from './refuse.ts';

/** WAVE format tags (Microsoft, "Multimedia Programming Interface and Data Specifications"; mmreg.h). */
const TAG = { pcm: 1, msAdpcm: 2, float: 3, aLaw: 6, muLaw: 7, imaAdpcm: 0x11, extensible: 0xfffe } as const;
const COMPRESSED_TAGS: ReadonlySet<number> = new Set([TAG.msAdpcm, TAG.aLaw, TAG.muLaw, TAG.imaAdpcm]);
/** Sizes from here up are placeholders from writers that could not seek back to fill them in. */
const PLACEHOLDER_BYTES = 0x7fff_0000;
/** More chunks than any real file has before its sound. */
const MOST_CHUNKS = 10_000;

export interface WavHeader {
  /** Layout of plain samples; null for companded and ADPCM data, which a codec has to undo. */
  pcm: PcmLayout | null;
  dataStart: number;
  /** Announced size of the sound in bytes; Infinity if the writer did not know. */
  dataBytes: number;
}

interface Chunk {
  start: number;
  bytes: number;
}

/**
 * Reads the chunks of a WAV file (RIFF, big-endian RIFX, and the 64-bit RF64 of EBU Tech 3306 and BW64 of ITU-R
 * BS.2088) without the sound. Written here because the sound must not be loaded whole, wavefile reads float samples
 * under an EXTENSIBLE header as integers, and audio-decode refuses RF64.
 * @throws ReedtraceError E_DAMAGED_AUDIO for a cut header or impossible values, E_NOT_AUDIO for an unknown codec
 */
export async function readWavHeader(source: ByteSource): Promise<WavHeader> {
  const riff = await source.readAt(0, 12);
  const bigEndian = riff[3] === 0x58; // RIFX
  let fmt: DataView | null = null;
  let data: Chunk | null = null;
  let longData: number | null = null;
  let position = 12;
  for (let n = 0; n < MOST_CHUNKS && position + 8 <= source.size && !(fmt && data); n++) {
    const head = view(await source.readAt(position, 8));
    const id = tag(head, 0);
    const bytes = head.getUint32(4, !bigEndian);
    const start = position + 8;
    if (id === 'fmt ') fmt = view(await source.readAt(start, Math.min(bytes, 64)));
    if (id === 'ds64' && bytes >= 24) {
      const sizes = view(await source.readAt(start, 24));
      if (sizes.byteLength === 24) longData = Number(sizes.getBigUint64(8, true));
    }
    if (id === 'data') {
      data = { start, bytes: await announcedBytes(source, start, bytes, longData) };
      position = start + (Number.isFinite(data.bytes) ? data.bytes + (data.bytes % 2) : source.size);
    } else {
      position = await nextChunk(source, start + bytes);
    }
  }
  if (!fmt || fmt.byteLength < 16)
    throw cutHeader(source, fmt ? 'its format chunk is cut short' : 'it has no format chunk');
  if (!data) throw cutHeader(source, 'it ends before its sound begins');
  return layoutOf(source.file, fmt, data, bigEndian);
}

/** Chunks begin at even offsets; a few writers forget the padding byte. */
async function nextChunk(source: ByteSource, end: number): Promise<number> {
  if (end % 2 === 0) return end;
  const around = await source.readAt(end, 5);
  return around[0] !== 0 && isChunkId(around.subarray(0, 4)) && !isChunkId(around.subarray(1, 5))
    ? end
    : end + 1;
}

function isChunkId(bytes: Uint8Array): boolean {
  return bytes.length === 4 && bytes.every((byte) => byte >= 0x20 && byte < 0x7f);
}

async function announcedBytes(
  source: ByteSource,
  start: number,
  bytes: number,
  longBytes: number | null,
): Promise<number> {
  if (longBytes !== null && bytes === 0xffff_ffff)
    return longBytes > 0 ? longBytes : Number.POSITIVE_INFINITY;
  if (bytes >= PLACEHOLDER_BYTES && start + bytes > source.size) return Number.POSITIVE_INFINITY;
  if (bytes > 0) return bytes;
  // Size 0: either no sound at all, with other chunks after it, or a writer that never filled it in.
  const after = await source.readAt(start, 8);
  if (after.length < 8) return 0;
  const fits = start + 8 + view(after).getUint32(4, true) <= source.size;
  return isChunkId(after.subarray(0, 4)) && fits ? 0 : Number.POSITIVE_INFINITY;
}

function layoutOf(file: string, fmt: DataView, data: Chunk, bigEndian: boolean): WavHeader {
  const little = !bigEndian;
  let format = fmt.getUint16(0, little);
  const channels = fmt.getUint16(2, little);
  const sampleRate = fmt.getUint32(4, little);
  const frameBytes = fmt.getUint16(12, little);
  const bits = fmt.getUint16(14, little);
  if (format === TAG.extensible) {
    if (fmt.byteLength < 26) throw damaged(file, 'its extended format chunk is cut short');
    format = fmt.getUint16(24, little); // the first two bytes of the SubFormat GUID
  }
  if (format !== TAG.pcm && format !== TAG.float && !COMPRESSED_TAGS.has(format)) {
    throw new ReedtraceError(
      'E_NOT_AUDIO',
      `'${file}' is a WAV file with an unknown codec (format tag ${format})`,
      'export it as 16-bit WAV',
    );
  }
  checkFormat(file, sampleRate, channels);
  if (COMPRESSED_TAGS.has(format)) {
    if (frameBytes === 0) throw damaged(file, 'its header announces blocks of 0 bytes');
    checkBlocks(file, format, fmt, channels, frameBytes, little);
    return { pcm: null, dataStart: data.start, dataBytes: data.bytes };
  }
  const bytesPerSample = frameBytes / channels;
  const sizes = format === TAG.float ? [4, 8] : [1, 2, 3, 4, 8];
  if (!sizes.includes(bytesPerSample) || bits === 0 || bits > 8 * bytesPerSample) {
    const kind = format === TAG.float ? 'floating-point' : 'integer';
    throw damaged(
      file,
      `its header announces ${bits}-bit ${kind} samples, ${channels} to a block of ${frameBytes} bytes`,
    );
  }
  const encoding = format === TAG.float ? 'float' : bytesPerSample === 1 ? 'unsigned' : 'integer';
  return {
    pcm: {
      encoding,
      bytesPerSample,
      bigEndian,
      channels,
      sampleRate,
      dataStart: data.start,
      dataBytes: data.bytes,
    },
    dataStart: data.start,
    dataBytes: data.bytes,
  };
}

/**
 * Header bytes of each channel in a block of ADPCM, and samples that they hold (mmreg.h; IMA, "Recommended Practices
 * for Enhancing Digital Audio Compatibility", 1992).
 */
const BLOCK_HEADS: Readonly<Record<number, { readonly bytes: number; readonly samples: number }>> = {
  [TAG.imaAdpcm]: { bytes: 4, samples: 1 },
  [TAG.msAdpcm]: { bytes: 7, samples: 2 },
};
const SAMPLES_PER_BYTE = 2;

/** A block of ADPCM must have room for the samples that it announces: the decoder allocates memory by that number. */
function checkBlocks(
  file: string,
  format: number,
  fmt: DataView,
  channels: number,
  blockBytes: number,
  little: boolean,
): void {
  const head = BLOCK_HEADS[format];
  if (head === undefined) return;
  const samples = fmt.byteLength >= 20 ? fmt.getUint16(18, little) : 0;
  const room = head.samples + (SAMPLES_PER_BYTE * (blockBytes - head.bytes * channels)) / channels;
  if (room < head.samples || samples > room) {
    throw damaged(file, `its header announces ${samples} samples in blocks of ${blockBytes} bytes`);
  }
}

function cutHeader(source: ByteSource, what: string): ReedtraceError {
  return damaged(source.file, `${what} (${source.size} bytes in all)`);
}
