import { ReedtraceError } from '../../errors.ts';

/** A file format: its name, and what decodes it (a decoder of audio-decode, or a reader of this program). */
export interface Format {
  name: string;
  decoder:
    | 'wav'
    | 'aiff'
    | 'caf'
    | 'mp3'
    | 'aac'
    | 'm4a'
    | 'flac'
    | 'opus'
    | 'oga'
    | 'webm'
    | 'mkv'
    | 'amr'
    | 'wv';
}

/** Number of bytes that `recogniseFormat` needs to distinguish a text or a broken start of an MP3 from sound. */
export const SNIFF_BYTES = 8192;

/** Kinds of file that turn up by mistake. They are named in the refusal. */
const OTHER_KINDS: readonly (readonly [magic: string, offset: number, what: string])[] = [
  ['%PDF', 0, 'a PDF document'],
  ['\x89PNG', 0, 'a PNG picture'],
  ['\xff\xd8\xff', 0, 'a JPEG picture'],
  ['GIF8', 0, 'a GIF picture'],
  ['BM', 0, 'a BMP picture'],
  ['WEBP', 8, 'a WebP picture'],
  ['ftypheic', 4, 'a HEIC picture'],
  ['ftypavif', 4, 'an AVIF picture'],
  ['PK\x03\x04', 0, 'a ZIP archive (or an office document)'],
  ['PK\x05\x06', 0, 'an empty ZIP archive'],
  ['\x1f\x8b', 0, 'a gzip archive'],
  ['7z\xbc\xaf', 0, 'a 7-Zip archive'],
  ['Rar!', 0, 'a RAR archive'],
  ['MThd', 0, 'a MIDI file, which holds notes and no sound'],
  ['\x7fELF', 0, 'a program'],
  ['MZ', 0, 'a program'],
  ['SQLite', 0, 'a database'],
];

/** Sound that no decoder here reads correctly. */
const REFUSED_SOUND: readonly (readonly [magic: string, offset: number, what: string])[] = [
  ['\x30\x26\xb2\x75\x8e\x66\xcf\x11', 0, 'a WMA (Windows Media) recording'],
  ['riff\x2e\x91\xcf\x11', 0, 'a Wave64 recording'],
  ['MAC ', 0, "a Monkey's Audio recording"],
  ['DSD ', 0, 'a DSD recording'],
  ['FRM8', 0, 'a DSD recording'],
  ['AVI ', 8, 'an AVI video'],
  ['FLV', 0, 'a Flash video'],
];

/**
 * Recognises a recording by its content, never by its name.
 * @param head the first SNIFF_BYTES of the file, or all of a shorter one
 * @throws ReedtraceError E_NOT_AUDIO that says what the file seems to be; E_DAMAGED_AUDIO for one that ends in its
 * header
 */
export function recogniseFormat(head: Uint8Array, file: string): Format {
  const is = (magic: string, offset = 0) => startsWith(head, magic, offset);
  if ((is('RIFF') || is('RIFX') || is('RF64') || is('BW64')) && is('WAVE', 8))
    return { name: 'WAV', decoder: 'wav' };
  if (is('FORM') && (is('AIFF', 8) || is('AIFC', 8))) return { name: 'AIFF', decoder: 'aiff' };
  if (is('caff')) return { name: 'CAF', decoder: 'caf' };
  if (is('fLaC')) return { name: 'FLAC', decoder: 'flac' };
  if (is('OggS')) return recogniseOgg(head, file);
  if (is('\x1a\x45\xdf\xa3')) {
    return is('matroska', 8) || find(head.subarray(0, 64), 'matroska') >= 0
      ? { name: 'Matroska', decoder: 'mkv' }
      : { name: 'WebM', decoder: 'webm' };
  }
  if (is('#!AMR')) return { name: 'AMR', decoder: 'amr' };
  if (is('wvpk')) return { name: 'WavPack', decoder: 'wv' };
  for (const [magic, offset, what] of OTHER_KINDS) if (is(magic, offset)) throw notAudio(file, what);
  for (const [magic, offset, what] of REFUSED_SOUND) {
    if (!is(magic, offset)) continue;
    throw new ReedtraceError(
      'E_NOT_AUDIO',
      `'${file}' is ${what}, which reedtrace can't read`,
      'convert it to WAV, FLAC or M4A first',
    );
  }
  if (is('ftyp', 4)) return { name: 'MP4', decoder: 'm4a' };
  if (['moov', 'mdat', 'wide', 'free', 'skip'].some((box) => is(box, 4)))
    return { name: 'QuickTime', decoder: 'm4a' };
  const afterTag = is('ID3') ? id3Bytes(head) : 0;
  if (afterTag > 0 && afterTag + 4 > head.length) return { name: 'MP3', decoder: 'mp3' };
  if (startsWith(head, 'fLaC', afterTag)) return { name: 'FLAC', decoder: 'flac' };
  const frames = recogniseFrames(head, afterTag);
  if (frames) return frames;
  if (afterTag > 0) return { name: 'MP3', decoder: 'mp3' };
  if (head.length < 12 && ['RIFF', 'FORM', 'RF64'].some((magic) => is(magic))) {
    throw new ReedtraceError(
      'E_DAMAGED_AUDIO',
      `'${file}' is damaged: it ends inside its header (${head.length} bytes in all)`,
      'copy it from the recorder again',
    );
  }
  throw notAudio(file, describeUnknown(head));
}

function recogniseOgg(head: Uint8Array, file: string): Format {
  if (find(head.subarray(0, 256), 'OpusHead') >= 0) return { name: 'Opus', decoder: 'opus' };
  if (find(head.subarray(0, 256), '\x7fFLAC') >= 0) return { name: 'Ogg FLAC', decoder: 'flac' };
  if (find(head.subarray(0, 256), '\x01vorbis') >= 0) return { name: 'Ogg Vorbis', decoder: 'oga' };
  if (head.length < 64) return { name: 'Ogg', decoder: 'oga' };
  throw new ReedtraceError(
    'E_NOT_AUDIO',
    `'${file}' is an Ogg file without a Vorbis, Opus or FLAC track`,
    'convert it to WAV, FLAC or M4A first',
  );
}

/** Size of an ID3v2 tag with its header (ID3 tag version 2.4.0, section 3.1). */
export function id3Bytes(head: Uint8Array): number {
  if (head.length < 10) return head.length;
  const size = ((head[6] & 127) << 21) | ((head[7] & 127) << 14) | ((head[8] & 127) << 7) | (head[9] & 127);
  return 10 + size + (head[5] & 0x10 ? 10 : 0);
}

/** MPEG-1/2/2.5 layer III and ADTS frames: a header counts only if another follows where its length says. */
function recogniseFrames(head: Uint8Array, from: number): Format | null {
  const last = Math.min(head.length - 7, from + 4096);
  for (let at = from; at <= last; at++) {
    if (head[at] !== 0xff || (head[at + 1] & 0xe0) !== 0xe0) continue;
    const mpeg = mpegFrame(head, at);
    if (mpeg && followed(head, at, mpeg.bytes, (next) => mpegFrame(head, next) !== null)) {
      return { name: 'MP3', decoder: 'mp3' };
    }
    const adts = adtsBytes(head, at);
    if (adts > 0 && followed(head, at, adts, (next) => adtsBytes(head, next) > 0))
      return { name: 'AAC', decoder: 'aac' };
  }
  return null;
}

function followed(head: Uint8Array, at: number, bytes: number, valid: (next: number) => boolean): boolean {
  const next = at + bytes;
  // A file with only one frame, cut or not, counts only if the frame is at its very start.
  return next + 7 <= head.length ? valid(next) : at === 0 && next >= head.length - 7;
}

const MPEG1_KBPS = [0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320];
const MPEG2_KBPS = [0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160];
const MPEG_RATES_HZ = [44_100, 48_000, 32_000];

export interface MpegFrame {
  bytes: number;
  samples: number;
  sampleRate: number;
  /** Bytes of side information, after which an encoder puts its tag in the first frame. */
  sideBytes: number;
}

/** Header of a layer III frame (ISO/IEC 11172-3, 2.4.1.3; 13818-3 for the lower rates); null if it is none. */
export function mpegFrame(head: Uint8Array, at: number): MpegFrame | null {
  if (head[at] !== 0xff || (head[at + 1] & 0xe0) !== 0xe0) return null;
  const version = (head[at + 1] >> 3) & 3; // 3: MPEG-1, 2: MPEG-2, 0: MPEG-2.5
  const layer = (head[at + 1] >> 1) & 3; // 1: layer III
  const kbpsIndex = head[at + 2] >> 4;
  const rateIndex = (head[at + 2] >> 2) & 3;
  if (version === 1 || layer !== 1 || kbpsIndex === 0 || kbpsIndex === 15 || rateIndex === 3) return null;
  const first = version === 3;
  const sampleRate = MPEG_RATES_HZ[rateIndex] / (first ? 1 : version === 2 ? 2 : 4);
  const samples = first ? 1152 : 576;
  const kbps = (first ? MPEG1_KBPS : MPEG2_KBPS)[kbpsIndex];
  const padding = (head[at + 2] >> 1) & 1;
  const mono = head[at + 3] >> 6 === 3;
  return {
    bytes: Math.floor(((samples / 8) * kbps * 1000) / sampleRate) + padding,
    samples,
    sampleRate,
    sideBytes: first ? (mono ? 17 : 32) : mono ? 9 : 17,
  };
}

function adtsBytes(head: Uint8Array, at: number): number {
  if (head[at] !== 0xff || (head[at + 1] & 0xf6) !== 0xf0) return 0;
  if (((head[at + 2] >> 2) & 15) > 12) return 0;
  const bytes = ((head[at + 3] & 3) << 11) | (head[at + 4] << 3) | (head[at + 5] >> 5);
  return bytes >= 7 ? bytes : 0;
}

function describeUnknown(head: Uint8Array): string {
  if (head.every((byte) => byte === 0)) return 'a file of zeros';
  const start = new TextDecoder('latin1').decode(head.subarray(0, 512)).trimStart().toLowerCase();
  if (start.startsWith('<!doctype html') || start.startsWith('<html')) return 'a web page';
  if (start.startsWith('<?xml')) return 'an XML file';
  const utf16 = (head[0] === 0xff && head[1] === 0xfe) || (head[0] === 0xfe && head[1] === 0xff);
  if (utf16) return 'a text file';
  const control = head.filter((byte) => byte < 9 || (byte > 13 && byte < 32 && byte !== 27)).length;
  if (control === 0) return 'a text file';
  return 'of an unknown kind';
}

function notAudio(file: string, what: string): ReedtraceError {
  return new ReedtraceError(
    'E_NOT_AUDIO',
    `'${file}' is not a recording: it seems to be ${what}`,
    'give a WAV, MP3, M4A, FLAC, Ogg, Opus, WebM, AIFF or CAF file',
  );
}

function startsWith(head: Uint8Array, magic: string, offset = 0): boolean {
  if (head.length < offset + magic.length) return false;
  for (let i = 0; i < magic.length; i++) if (head[offset + i] !== magic.charCodeAt(i)) return false;
  return true;
}

function find(head: Uint8Array, text: string): number {
  for (let at = 0; at + text.length <= head.length; at++) if (startsWith(head, text, at)) return at;
  return -1;
}
