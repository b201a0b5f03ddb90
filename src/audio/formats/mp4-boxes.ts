import { LIMITS, overLimit } from '../../limits.ts';
import { damaged } from './refuse.ts';

/** A box of an MP4 file (ISO/IEC 14496-12, section 4.2): where it begins, and how long it and its head are, in bytes. */
export interface Box {
  readonly type: string;
  readonly start: number;
  readonly bytes: number;
  readonly headBytes: number;
}

/** Longest head of a box. */
export const BOX_HEAD_BYTES = 16;

/** Boxes that the decoder looks into. */
const CONTAINERS: ReadonlySet<string> = new Set(
  'moov trak mdia minf stbl udta edts sinf wave mvex moof traf meta stsd'.split(' '),
);
/** Bytes, such as flags, before the boxes inside. */
const BEFORE_INSIDE: Readonly<Record<string, number>> = { meta: 4, stsd: 8 };

/**
 * The box whose head is at `at` in these bytes; null when it is cut or its size is impossible.
 * @param where the box begins in the file
 * @param available bytes from there to the end of the file: the size of a box that says 0
 */
export function boxAt(bytes: Uint8Array, start: number, available: number, at: number): Box | null {
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

/**
 * Calls `visit` with every box in these bytes, outer boxes first.
 * @param visit gets the range of the box's content
 * @throws ReedtraceError E_DAMAGED_AUDIO where boxes are nested deeper than the decoder could follow
 */
export function walkBoxes(
  bytes: Uint8Array,
  file: string,
  visit: (type: string, from: number, to: number) => void,
): void {
  const walk = (from: number, to: number, parent: string, depth: number): void => {
    if (depth > LIMITS.containerDepth.most) {
      throw damaged(file, `its index has boxes inside each other: ${overLimit('containerDepth', depth)}`);
    }
    let at = from;
    while (at + 8 <= to) {
      const box = boxAt(bytes, at, to - at, at);
      if (!box || at + box.bytes > to) return;
      const inside = at + box.headBytes;
      const end = at + box.bytes;
      visit(box.type, inside, end);
      if (parent === 'stsd') walk(at + entryHeadBytes(bytes, at, end), end, box.type, depth + 1);
      else if (CONTAINERS.has(box.type)) {
        walk(inside + (BEFORE_INSIDE[box.type] ?? 0), end, box.type, depth + 1);
      }
      at = end;
    }
  };
  walk(0, bytes.length, '', 0);
}

/**
 * Number of bytes before the boxes in a sound description, by its version (QuickTime File Format, "Sound sample
 * descriptions").
 */
function entryHeadBytes(bytes: Uint8Array, at: number, end: number): number {
  if (at + 40 > end) return end - at;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const version = view.getUint16(at + 16);
  if (version === 2) return view.getUint32(at + 36) || 72;
  return version === 1 ? 52 : 36;
}
