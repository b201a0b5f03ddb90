import { LIMITS, overLimit } from '../../limits.ts';
import { walkBoxes } from './mp4-boxes.ts';
import { damaged } from './refuse.ts';

/** Bytes per entry of tables that begin with four bytes of version and flags, then their number of entries. */
const ENTRY_BYTES: Readonly<Record<string, number>> = { stts: 8, stco: 4, co64: 8, stsc: 12 };

/** Fields of each sample of a fragment that its flags name, of four bytes each (ISO/IEC 14496-12, 8.8.8). */
const FIELD_FLAGS = [0x100, 0x200, 0x400, 0x800];

/**
 * Checks the lengths that the tables of an MP4 file announce, before the decoder allocates memory for them: each must
 * have room for its entries, and all together must not exceed the limit.
 */
export class Mp4Tables {
  readonly #file: string;
  #entries = 0;

  constructor(file: string) {
    this.#file = file;
  }

  /**
   * @param bytes  an index (`moov`) or the head of a fragment (`moof`)
   * @returns seconds of the first sound track; null when it does not say
   * @throws ReedtraceError E_DAMAGED_AUDIO
   */
  check(bytes: Uint8Array): number | null {
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    let mediaSec = 0;
    let soundSec: number | null = null;
    walkBoxes(bytes, this.#file, (type, from, to) => {
      this.#checkTable(view, type, from, to);
      if (type === 'mdhd') mediaSec = mediaSeconds(view, from, to);
      if (type === 'hdlr' && to - from >= 12 && isSound(bytes, from) && mediaSec > 0) soundSec ??= mediaSec;
    });
    return soundSec;
  }

  #checkTable(view: DataView, type: string, from: number, to: number): void {
    const usual = ENTRY_BYTES[type];
    if (usual !== undefined) this.#count(view, from + 4, to, usual);
    // One size for all samples, or one for each.
    else if (type === 'stsz' && to - from >= 12)
      this.#count(view, from + 8, to, view.getUint32(from + 4) === 0 ? 4 : 0);
    else if (type === 'elst' && to > from)
      this.#count(view, from + 4, to, view.getUint8(from) === 1 ? 20 : 12);
    else if (type === 'trun' && to - from >= 8) {
      const flags = view.getUint32(from) & 0xff_ffff;
      const fields = FIELD_FLAGS.filter((flag) => (flags & flag) !== 0).length;
      this.#count(view, from + 4, to, 4 * fields);
    }
  }

  #count(view: DataView, at: number, to: number, entryBytes: number): void {
    const count = at + 4 <= to ? view.getUint32(at) : 0;
    if (at + 4 + count * entryBytes > to) {
      throw damaged(this.#file, `its index announces ${count} entries where there is no room for them`);
    }
    this.#entries += count;
    if (this.#entries > LIMITS.containerEntries.most) {
      throw damaged(this.#file, `its index announces ${overLimit('containerEntries', this.#entries)}`);
    }
  }
}

function mediaSeconds(view: DataView, from: number, to: number): number {
  if (to - from < 24) return 0;
  const long = view.getUint8(from) === 1 && to - from >= 36;
  const scale = view.getUint32(from + (long ? 20 : 12));
  const units = long ? Number(view.getBigUint64(from + 24)) : view.getUint32(from + 16);
  return scale > 0 ? units / scale : 0;
}

function isSound(bytes: Uint8Array, from: number): boolean {
  return String.fromCharCode(...bytes.subarray(from + 8, from + 12)) === 'soun';
}
