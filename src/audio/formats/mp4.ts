import type { ByteSource, ReadWatch } from '../source.ts';
import { damaged } from './refuse.ts';

/** Boxes to look into for a track's tables (ISO/IEC 14496-12). */
const CONTAINERS: ReadonlySet<string> = new Set(['moov', 'trak', 'mdia', 'minf', 'stbl']);
/** An index beyond this is damage: an hour of AAC needs 0.7 MB. */
const LARGEST_INDEX_BYTES = 64 * 1024 * 1024;
/** Entries that the decoder may be made to lay out in memory; 10 hours of AAC at 48 kHz have 1.7 million. */
const MOST_TABLE_ENTRIES = 4_000_000;
const MOST_BOXES = 1_000_000;

interface Box {
  type: string;
  start: number;
  bytes: number;
  headBytes: number;
}

export interface Mp4Index {
  moov: Uint8Array<ArrayBuffer>;
  /** The index lies behind the sound, as phones write it. */
  behindSound: boolean;
  /** Length of the first sound track; null when the file is in fragments and does not say. */
  durationSec: number | null;
}

/**
 * The index of an MP4, M4A or MOV file, checked so far that a damaged one cannot make the decoder take all memory.
 * @throws ReedtraceError E_DAMAGED_AUDIO when it is missing, cut, or impossible
 */
export async function readMp4Index(source: ByteSource): Promise<Mp4Index> {
  let behindSound = false;
  let position = 0;
  for (let n = 0; n < MOST_BOXES && position + 8 <= source.size; n++) {
    const box = boxAt(await source.readAt(position, 16), position, source.size - position, 0);
    if (!box) break;
    if (box.type === 'mdat') behindSound = true;
    if (box.type === 'moov') {
      if (box.bytes > LARGEST_INDEX_BYTES || box.start + box.bytes > source.size) break;
      const moov = await source.readAt(box.start, box.bytes);
      return { moov, behindSound, durationSec: inspect(moov, source.file) };
    }
    position += box.bytes;
  }
  throw damaged(
    source.file,
    'the index that an M4A or MP4 file needs is missing, as if recording or copying broke off',
  );
}

/**
 * The file in order, with the index first when it lies behind the sound: the decoder would otherwise gather the whole
 * file before it starts. Offsets in the index are moved by as much as was put in front.
 */
export async function* fastStart(source: ByteSource, watch: ReadWatch): AsyncGenerator<Uint8Array> {
  const index = await readMp4Index(source);
  if (index.behindSound) {
    const moov = index.moov.slice();
    moveOffsets(moov, moov.length, source.file);
    yield moov;
  }
  yield* source.chunks(watch);
}

function boxAt(bytes: Uint8Array, start: number, available: number, at: number): Box | null {
  if (bytes.length < at + 8) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const type = String.fromCharCode(bytes[at + 4], bytes[at + 5], bytes[at + 6], bytes[at + 7]);
  let size = view.getUint32(at);
  let headBytes = 8;
  if (size === 1) {
    if (bytes.length < at + 16) return null;
    size = Number(view.getBigUint64(at + 8));
    headBytes = 16;
  } else if (size === 0) size = available;
  return size < headBytes ? null : { type, start, bytes: size, headBytes };
}

/** Calls `visit` with every box that is not a container, and with each `trak` before what it holds. */
function walk(
  bytes: Uint8Array,
  from: number,
  to: number,
  visit: (type: string, from: number, to: number) => void,
): void {
  let at = from;
  while (at + 8 <= to) {
    const box = boxAt(bytes, at, to - at, at);
    if (!box || at + box.bytes > to) return;
    const inside = at + box.headBytes;
    const end = at + box.bytes;
    if (CONTAINERS.has(box.type)) {
      if (box.type === 'trak') visit('trak', inside, end);
      walk(bytes, inside, end, visit);
    } else visit(box.type, inside, end);
    at = end;
  }
}

function inspect(moov: Uint8Array, file: string): number | null {
  const view = new DataView(moov.buffer, moov.byteOffset, moov.byteLength);
  let mediaSec = 0;
  let soundSec: number | null = null;
  let isSound = false;
  const entries = (at: number, to: number, entryBytes: number) => {
    const count = at + 4 <= to ? view.getUint32(at) : 0;
    if (count > MOST_TABLE_ENTRIES || at + 4 + count * entryBytes > to) {
      throw damaged(file, `its index announces ${count} entries where there is no room for them`);
    }
  };
  walk(moov, 0, moov.length, (type, from, to) => {
    if (type === 'trak') isSound = false;
    else if (type === 'mdhd' && to - from >= 24) {
      const long = moov[from] === 1 && to - from >= 36;
      const scale = view.getUint32(from + (long ? 20 : 12));
      const units = long ? Number(view.getBigUint64(from + 24)) : view.getUint32(from + 16);
      mediaSec = scale > 0 ? units / scale : 0;
    } else if (type === 'hdlr' && to - from >= 12) {
      isSound = String.fromCharCode(...moov.subarray(from + 8, from + 12)) === 'soun';
      if (isSound && soundSec === null && mediaSec > 0) soundSec = mediaSec;
    } else if (type === 'stsz' && to - from >= 12) {
      entries(from + 8, to, view.getUint32(from + 4) === 0 ? 4 : 0);
    } else if (type === 'stco') entries(from + 4, to, 4);
    else if (type === 'co64') entries(from + 4, to, 8);
    else if (type === 'stsc') entries(from + 4, to, 12);
  });
  return soundSec;
}

function moveOffsets(moov: Uint8Array, by: number, file: string): void {
  const view = new DataView(moov.buffer, moov.byteOffset, moov.byteLength);
  walk(moov, 0, moov.length, (type, from) => {
    if (type !== 'stco' && type !== 'co64') return;
    const count = view.getUint32(from + 4);
    for (let i = 0; i < count; i++) {
      if (type === 'co64') {
        const at = from + 8 + 8 * i;
        view.setBigUint64(at, view.getBigUint64(at) + BigInt(by));
      } else {
        const at = from + 8 + 4 * i;
        const moved = view.getUint32(at) + by;
        if (moved > 0xffff_ffff) throw damaged(file, 'its index points beyond 4 GB');
        view.setUint32(at, moved);
      }
    }
  });
}
