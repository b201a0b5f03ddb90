import { LIMITS, overLimit } from '../../limits.ts';
import type { ByteSource, ReadWatch } from '../source.ts';
import { headFirst } from './head-first.ts';
import { BOX_HEAD_BYTES, type Box, boxAt, walkBoxes } from './mp4-boxes.ts';
import { Mp4Tables } from './mp4-tables.ts';
import { damaged } from './refuse.ts';

/** A file with more boxes than this is damaged, or made to waste time. */
const MOST_BOXES = 1_000_000;
/** The file is read in stretches of this length to find the heads of boxes, as there may be many. */
const STRETCH_BYTES = 64 * 1024;

export interface Mp4Index {
  moov: Uint8Array<ArrayBuffer>;
  /** Where the index ends in the file. */
  endsAt: number;
  /** The index comes after the sound, as phones write it. */
  behindSound: boolean;
  /** Length of the first sound track; null when the file is in fragments and does not say. */
  durationSec: number | null;
}

/**
 * Reads the index of an MP4, M4A or MOV file, and checks its tables, those of its fragments and the nesting of its
 * boxes, so that a damaged file can't make the decoder take all memory or all time.
 * @throws ReedtraceError E_DAMAGED_AUDIO when it is missing, cut, or impossible
 */
export async function readMp4Index(source: ByteSource): Promise<Mp4Index> {
  const tables = new Mp4Tables(source.file);
  let behindSound = false;
  let index: Mp4Index | null = null;
  for await (const box of topBoxes(source)) {
    if (box.type === 'mdat' && index === null) behindSound = true;
    const isIndex = box.type === 'moov' && index === null;
    if (!isIndex && box.type !== 'moof') continue;
    if (box.start + box.bytes > source.size) break;
    if (box.bytes > LIMITS.containerHeadBytes.most) {
      throw damaged(source.file, `its index has ${overLimit('containerHeadBytes', box.bytes)}`);
    }
    const bytes = await source.readAt(box.start, box.bytes);
    if (!isIndex) tables.check(bytes);
    else {
      const durationSec = tables.check(bytes);
      index = { moov: bytes, endsAt: box.start + box.bytes, behindSound, durationSec };
    }
  }
  if (index !== null) return index;
  throw damaged(
    source.file,
    'the index that an M4A or MP4 file needs is missing, as if recording or copying broke off',
  );
}

/** The top-level boxes in order, up to the first impossible one. */
async function* topBoxes(source: ByteSource): AsyncGenerator<Box> {
  let stretch = new Uint8Array(0);
  let stretchAt = 0;
  let position = 0;
  for (let n = 0; n < MOST_BOXES && position + 8 <= source.size; n++) {
    const there = stretchAt + stretch.length;
    if (position + BOX_HEAD_BYTES > there && there < source.size) {
      stretch = await source.readAt(position, STRETCH_BYTES);
      stretchAt = position;
    }
    const box = boxAt(stretch, position, source.size - position, position - stretchAt);
    if (!box) return;
    yield box;
    position += box.bytes;
  }
}

/**
 * The file in order, with the whole index moved to the front if it comes after the sound: otherwise the decoder would
 * collect the whole file before it starts, and search an index again with each piece of it. Offsets in the index are
 * shifted accordingly.
 */
export async function* fastStart(source: ByteSource, watch: ReadWatch): AsyncGenerator<Uint8Array> {
  const index = await readMp4Index(source);
  if (!index.behindSound) {
    yield* headFirst(source, index.endsAt, watch);
    return;
  }
  const moov = index.moov.slice();
  moveOffsets(moov, moov.length, source.file);
  yield moov;
  yield* source.chunks(watch);
}

function moveOffsets(moov: Uint8Array, by: number, file: string): void {
  const view = new DataView(moov.buffer, moov.byteOffset, moov.byteLength);
  walkBoxes(moov, file, (type, from) => {
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
