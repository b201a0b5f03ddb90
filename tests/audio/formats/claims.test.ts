import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { fastStart } from '../../../src/audio/formats/mp4.ts';
import { ByteSource } from '../../../src/audio/source.ts';
import { chunk, fixture, joined, refusal, riff, temporaryFolder, text, u16, u32 } from '../support.ts';

const folder = temporaryFolder();

function made(name: string, bytes: Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
}

/** A box of an MP4 file. */
function box(type: string, ...content: readonly Uint8Array[]): Uint8Array {
  const inside = joined(...content);
  return joined(u32(8 + inside.length, true), text(type), inside);
}

/** A copy of a fixture with four bytes changed, at this distance after the name of a box. */
function patched(name: string, boxType: string, behind: number, value: number): Uint8Array {
  const bytes = new Uint8Array(readFileSync(fixture(name)));
  const at = Buffer.from(bytes.buffer).indexOf(boxType) + 4 + behind;
  new DataView(bytes.buffer).setUint32(at, value);
  return bytes;
}

/** A fixture with something inserted at the beginning of its index. */
function withInIndex(name: string, added: Uint8Array): Uint8Array {
  const bytes = new Uint8Array(readFileSync(fixture(name)));
  const moov = Buffer.from(bytes.buffer).indexOf('moov') - 4;
  const size = new DataView(bytes.buffer).getUint32(moov) + added.length;
  return joined(bytes.subarray(0, moov), u32(size, true), text('moov'), added, bytes.subarray(moov + 8));
}

const ALL = 0xffff_ffff;

function nested(type: string, deep: number): Uint8Array {
  const bytes = new Uint8Array(8 * deep);
  const view = new DataView(bytes.buffer);
  for (let i = 0; i < deep; i++) {
    view.setUint32(8 * i, 8 * (deep - i));
    bytes.set(text(type), 8 * i + 4);
  }
  return bytes;
}

describe('an MP4 file that claims more than it contains', () => {
  const version = u32(0, true);
  const CASES: readonly [what: string, bytes: () => Uint8Array, message: RegExp][] = [
    ['times of samples', () => patched('tone.m4a', 'stts', 4, ALL), /announces 4294967295 entries where/],
    ['cuts', () => withInIndex('tone.m4a', box('edts', box('elst', version, u32(ALL, true)))), /4294967295/],
    ['samples of a fragment', () => patched('fragmented.m4a', 'trun', 4, ALL), /announces/],
    [
      'samples of one size, in many tracks',
      () =>
        withInIndex(
          'tone.m4a',
          joined(
            ...Array.from({ length: 3 }, () =>
              box('trak', box('stsz', version, u32(1, true), u32(4_000_000, true))),
            ),
          ),
        ),
      /8,000,000 entries; the limit is 5,000,000/,
    ],
    ['boxes in boxes', () => withInIndex('tone.m4a', nested('udta', 20_000)), /17 levels; the limit is 16/],
    [
      'boxes in boxes before the sound',
      () => withInIndex('index-first.m4a', nested('wave', 20_000)),
      /17 levels; the limit is 16/,
    ],
    [
      'an index of 70 MB',
      () => withInIndex('index-first.m4a', box('free', new Uint8Array(70_000_000))),
      /bytes; the limit is 67,108,864/,
    ],
  ];
  it.each(CASES)('%s', async (_, bytes, message) => {
    const error = await refusal(made('take.m4a', bytes()));
    expect(error.code).toBe('E_DAMAGED_AUDIO');
    expect(error.message).toMatch(message);
  });

  it('an index before the sound is read whole and only once, not with every piece', async () => {
    const path = made('take.m4a', withInIndex('index-first.m4a', box('free', new Uint8Array(4_000_000))));
    const source = await ByteSource.open(path);
    try {
      const lengths: number[] = [];
      for await (const piece of fastStart(source, {})) lengths.push(piece.length);
      expect(lengths[0]).toBeGreaterThan(4_000_000);
      expect(lengths.reduce((sum, length) => sum + length)).toBe(source.size);
    } finally {
      await source.close();
    }
  });
});

describe('a coded WAV file that claims more than it contains', () => {
  /** `fmt ` of IMA or Microsoft ADPCM, one channel. */
  const adpcm = (tag: number, blockBytes: number, samples: number) =>
    chunk(
      'fmt ',
      joined(u16(tag), u16(1), u32(44_100), u32(44_100), u16(blockBytes), u16(4), u16(2), u16(samples)),
    );
  it.each([
    ['IMA', 0x11, 2, 65_535],
    ['IMA', 0x11, 256, 65_535],
    ['Microsoft', 2, 2, 65_535],
    ['IMA', 0x11, 2, 0],
  ])('%s ADPCM (tag %i) in blocks of %i bytes with %i samples', async (_, tag, blockBytes, samples) => {
    const error = await refusal(
      made('take.wav', riff(adpcm(tag, blockBytes, samples), chunk('data', new Uint8Array(60_000)))),
    );
    expect(error.code).toBe('E_DAMAGED_AUDIO');
    expect(error.message).toContain(`${samples} samples in blocks of ${blockBytes} bytes`);
  });
});

describe('a CAF file that claims more than it contains', () => {
  it('frames in a packet', async () => {
    const bytes = caf('ima4', { packetBytes: 34, packetFrames: 1_000_000, channels: 1, bits: 0 });
    const error = await refusal(made('take.caf', bytes));
    expect(error.message).toMatch(/packets of 1000000 frames and 34 bytes/);
  });

  it('channels', async () => {
    const bytes = caf('ima4', { packetBytes: 0, packetFrames: 64, channels: 1_000_000, bits: 0 });
    const error = await refusal(made('take.caf', bytes));
    expect(error.message).toMatch(/1,000,000 channels; the limit is 64/);
  });
});

function caf(
  coding: string,
  packet: { packetBytes: number; packetFrames: number; channels: number; bits: number },
): Uint8Array {
  const head = Buffer.alloc(8 + 44);
  head.write('caff\0\x01\0\0', 'latin1');
  head.write('desc', 8);
  head.writeBigInt64BE(32n, 12);
  head.writeDoubleBE(44_100, 20);
  head.write(coding, 28);
  head.writeUInt32BE(packet.packetBytes, 36);
  head.writeUInt32BE(packet.packetFrames, 40);
  head.writeUInt32BE(packet.channels, 44);
  head.writeUInt32BE(packet.bits, 48);
  const data = Buffer.alloc(16 + 34_000);
  data.write('data');
  data.writeBigInt64BE(34_004n, 4);
  return joined(head, data);
}
