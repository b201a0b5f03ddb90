import type { ByteSource } from '../source.ts';
import { readCafHeader } from './caf.ts';
import { readMp4Index } from './mp4.ts';
import { type Format, id3Bytes, mpegFrame, SNIFF_BYTES } from './sniff.ts';
import { readWavHeader } from './wav.ts';

/** What a file's header says about its length. Decoders silently treat a truncated file as a short one. */
export interface AnnouncedLength {
  /** null when the format or this file does not say. */
  seconds: number | null;
  /** The file is visibly truncated: its last page has no end mark, or a chunk reaches beyond its end. */
  cut: boolean;
}

const UNKNOWN: AnnouncedLength = { seconds: null, cut: false };

export async function announcedLength(source: ByteSource, format: Format): Promise<AnnouncedLength> {
  switch (format.decoder) {
    case 'm4a':
      return { seconds: (await readMp4Index(source)).durationSec, cut: false };
    case 'mp3':
      return { seconds: await mp3Seconds(source), cut: false };
    case 'flac':
      return format.name === 'FLAC' ? { seconds: await flacSeconds(source), cut: false } : oggEnd(source);
    case 'opus':
    case 'oga':
      return oggEnd(source);
    case 'webm':
    case 'mkv':
      return { seconds: null, cut: await segmentCut(source) };
    case 'caf':
      return { seconds: (await readCafHeader(source)).seconds, cut: false };
    case 'wav': {
      const { dataStart, dataBytes } = await readWavHeader(source);
      return { seconds: null, cut: Number.isFinite(dataBytes) && dataStart + dataBytes > source.size };
    }
    default:
      return UNKNOWN;
  }
}

/** Frames counted by the encoder's tag in the first frame ("Xing" or "Info"); null without one. */
async function mp3Seconds(source: ByteSource): Promise<number | null> {
  const head = await source.readAt(0, 10);
  const start = head[0] === 0x49 && head[1] === 0x44 && head[2] === 0x33 ? id3Bytes(head) : 0;
  const bytes = await source.readAt(start, SNIFF_BYTES);
  for (let at = 0; at + 4 <= bytes.length; at++) {
    const frame = mpegFrame(bytes, at);
    if (!frame) continue;
    const tag = at + 4 + frame.sideBytes;
    if (tag + 12 > bytes.length) return null;
    const name = String.fromCharCode(...bytes.subarray(tag, tag + 4));
    if ((name !== 'Xing' && name !== 'Info') || (bytes[tag + 7] & 1) === 0) return null;
    const frames = new DataView(bytes.buffer, bytes.byteOffset).getUint32(tag + 8);
    return (frames * frame.samples) / frame.sampleRate;
  }
  return null;
}

/** Total samples in STREAMINFO (RFC 9639, section 8.2); 0 there means unknown. */
async function flacSeconds(source: ByteSource): Promise<number | null> {
  const head = await source.readAt(0, 10);
  const start = head[0] === 0x49 ? id3Bytes(head) : 0;
  const info = await source.readAt(start, 42);
  if (info.length < 42) return null;
  const view = new DataView(info.buffer, info.byteOffset);
  const sampleRate = view.getUint32(18) >>> 12;
  const samples = (info[21] & 15) * 2 ** 32 + view.getUint32(22);
  return sampleRate > 0 && samples > 0 ? samples / sampleRate : null;
}

/** The last page of an Ogg stream carries an end mark (RFC 3533, section 6, header type flag 4). */
async function oggEnd(source: ByteSource): Promise<AnnouncedLength> {
  const bytes = await source.readAt(Math.max(0, source.size - 65_536), 65_536);
  for (let at = bytes.length - 27; at >= 0; at--) {
    if (bytes[at] !== 0x4f || bytes[at + 1] !== 0x67 || bytes[at + 2] !== 0x67 || bytes[at + 3] !== 0x53)
      continue;
    let end = at + 27 + bytes[at + 26];
    for (let s = at + 27; s < at + 27 + bytes[at + 26]; s++) end += bytes[s] ?? 0;
    return { seconds: null, cut: (bytes[at + 5] & 4) === 0 || end > bytes.length };
  }
  return UNKNOWN;
}

/** Whether the Matroska segment announces more bytes than the file has (RFC 9559; sizes as in RFC 8794). */
async function segmentCut(source: ByteSource): Promise<boolean> {
  const bytes = await source.readAt(0, 512);
  for (let at = 0; at + 12 <= bytes.length; at++) {
    if (bytes[at] !== 0x18 || bytes[at + 1] !== 0x53 || bytes[at + 2] !== 0x80 || bytes[at + 3] !== 0x67)
      continue;
    const width = Math.clz32(bytes[at + 4]) - 23;
    if (width > 8) return false;
    let size = bytes[at + 4] & (0xff >> width);
    let unknown = size === 0xff >> width;
    for (let i = 1; i < width; i++) {
      size = size * 256 + bytes[at + 4 + i];
      unknown &&= bytes[at + 4 + i] === 0xff;
    }
    return !unknown && at + 4 + width + size > source.size;
  }
  return false;
}
