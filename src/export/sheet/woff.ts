import { inflateSync } from 'node:zlib';

/** Bytes of the header and of a directory entry, in a WOFF file and in a plain font file. */
const WOFF = { header: 44, entry: 20 } as const;
const PLAIN = { header: 12, entry: 16 } as const;

/**
 * Unpacks the plain font (TrueType or OpenType) in a WOFF 1.0 file that comes with a package (W3C Recommendation of
 * 2012, sections 3 to 5). fontkit reads WOFF too, but unpacks a table anew for each letter that it looks up.
 */
export function unpackWoff(woff: Buffer): Buffer {
  const count = woff.readUInt16BE(12);
  const head = Buffer.alloc(PLAIN.header + count * PLAIN.entry);
  woff.copy(head, 0, 4, 8);
  const largest = 2 ** Math.floor(Math.log2(count));
  head.writeUInt16BE(count, 4);
  head.writeUInt16BE(largest * PLAIN.entry, 6);
  head.writeUInt16BE(Math.log2(largest), 8);
  head.writeUInt16BE((count - largest) * PLAIN.entry, 10);
  const tables: Buffer[] = [];
  let at = head.length;
  for (let i = 0; i < count; i++) {
    const from = WOFF.header + i * WOFF.entry;
    const [offset, packed, length, checksum] = [4, 8, 12, 16].map((byte) => woff.readUInt32BE(from + byte));
    const stored = woff.subarray(offset, offset + packed);
    const table = packed < length ? inflateSync(stored) : stored;
    const to = PLAIN.header + i * PLAIN.entry;
    woff.copy(head, to, from, from + 4);
    head.writeUInt32BE(checksum, to + 4);
    head.writeUInt32BE(at, to + 8);
    head.writeUInt32BE(length, to + 12);
    const padding = Buffer.alloc(-length & 3);
    tables.push(table, padding);
    at += length + padding.length;
  }
  return Buffer.concat([head, ...tables]);
}
