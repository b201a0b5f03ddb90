import type { ByteSource } from '../source.ts';
import { tag, view } from './bytes.ts';
import { readMp4Index } from './mp4.ts';
import { walkBoxes } from './mp4-boxes.ts';
import { type Format, id3Bytes } from './sniff.ts';

/** Tags are at the beginning of a file; later ones come after pictures and are not read. */
const HEAD_BYTES = 64 * 1024;
const MOST_CHUNKS = 1_000;
/** MP4 counts seconds from 1904 (ISO/IEC 14496-12, 8.2.2). */
const MP4_EPOCH_MS = Date.UTC(1904, 0, 1);
/** A clock that was never set says 1904, 1970 or 2000. */
const FIRST_YEAR = 2001;
const LAST_YEAR = 2100;

/**
 * The day on which a recording was made, as its own metadata says: the creation time of MP4 and M4A, the origination date of Broadcast Wave
 * (EBU Tech 3285), ICRD of RIFF, TDRC or TYER and TDAT of ID3v2, DATE of Vorbis comments in FLAC and Ogg.
 * @returns `YYYY-MM-DD`; null if there is no complete date
 */
export async function recordedOn(source: ByteSource, format: Format): Promise<string | null> {
  switch (format.decoder) {
    case 'm4a':
      return mp4Day(source);
    case 'wav':
      return wavDay(source);
    case 'mp3':
      return id3Day(source);
    case 'flac':
    case 'opus':
    case 'oga':
      return commentDay(source);
    default:
      return null;
  }
}

async function mp4Day(source: ByteSource): Promise<string | null> {
  const { moov } = await readMp4Index(source);
  const bytes = view(moov);
  let day: string | null = null;
  walkBoxes(moov, source.file, (type, from, to) => {
    if (type !== 'mvhd' || day !== null || to - from < 12) return;
    const seconds =
      bytes.getUint8(from) === 1 ? Number(bytes.getBigUint64(from + 4)) : bytes.getUint32(from + 4);
    const ms = MP4_EPOCH_MS + 1000 * seconds;
    // Larger values don't fit into a date.
    if (ms < Date.UTC(LAST_YEAR, 0, 1)) day = wholeDay(new Date(ms).toISOString());
  });
  return day;
}

async function wavDay(source: ByteSource): Promise<string | null> {
  let position = 12;
  let day: string | null = null;
  for (let n = 0; n < MOST_CHUNKS && position + 8 <= source.size && day === null; n++) {
    const head = view(await source.readAt(position, 8));
    const bytes = head.getUint32(4, true);
    const id = tag(head, 0);
    if (id === 'bext') day = wholeDay(latin1(await source.readAt(position + 8 + 320, 10)));
    if (id === 'LIST') {
      const list = latin1(await source.readAt(position + 8, Math.min(bytes, HEAD_BYTES)));
      day = wholeDay(/ICRD[\s\S]{4}([\d:./_-]{10})/.exec(list)?.[1] ?? '');
    }
    position += 8 + bytes + (bytes % 2);
  }
  return day;
}

async function id3Day(source: ByteSource): Promise<string | null> {
  const head = await source.readAt(0, 10);
  if (latin1(head.subarray(0, 3)) !== 'ID3') return null;
  const tags = latin1(await source.readAt(0, Math.min(id3Bytes(head), HEAD_BYTES)));
  // Drops the zero bytes and the byte order mark of UTF-16.
  const textOf = (frame: string): string => {
    const at = tags.indexOf(frame);
    return at < 0 ? '' : tags.slice(at + 11, at + 60).replace(/[\0\u00fe\u00ff]/g, '');
  };
  const [year] = /^\d{4}/.exec(textOf('TYER')) ?? [''];
  const [dayMonth] = /^\d{4}/.exec(textOf('TDAT')) ?? [''];
  return wholeDay(textOf('TDRC')) ?? wholeDay(`${year}-${dayMonth.slice(2)}-${dayMonth.slice(0, 2)}`);
}

async function commentDay(source: ByteSource): Promise<string | null> {
  const text = latin1(await source.readAt(0, HEAD_BYTES));
  return wholeDay(/\bDATE=(\d{4}[-:./_]\d\d[-:./_]\d\d)/i.exec(text)?.[1] ?? '');
}

const latin1 = (bytes: Uint8Array): string => Buffer.from(bytes).toString('latin1');

/** `YYYY-MM-DD` of a text that begins with a date in that order; null for dates that no recorder would write. */
function wholeDay(text: string): string | null {
  const [, year, month, day] = /^(\d{4})[-:./_ ](\d\d)[-:./_ ](\d\d)/.exec(text) ?? [];
  if (year === undefined || Number(year) < FIRST_YEAR || Number(year) >= LAST_YEAR) return null;
  const iso = `${year}-${month}-${day}`;
  const time = Date.parse(iso);
  return Number.isNaN(time) || new Date(time).toISOString().slice(0, 10) !== iso ? null : iso;
}
