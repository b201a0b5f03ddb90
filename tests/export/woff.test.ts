import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { create, type Font } from 'fontkit';
import { expect, it } from 'vitest';
import { unpackWoff } from '../../src/export/sheet/woff.ts';

const FILES = '../../node_modules/@fontsource/source-sans-3/files/source-sans-3';
const packedFont = (part: string): Buffer =>
  readFileSync(fileURLToPath(new URL(`${FILES}-${part}-normal.woff`, import.meta.url)));

/** Checksum of a table (OpenType 1.9, "Calculating checksums"); `head` counts without the one of the whole file. */
function checksum(table: Buffer, tag: string): number {
  const padded = Buffer.concat([table, Buffer.alloc(-table.length & 3)]);
  if (tag === 'head') padded.writeUInt32BE(0, 8);
  let sum = 0;
  for (let at = 0; at < padded.length; at += 4) sum = (sum + padded.readUInt32BE(at)) >>> 0;
  return sum;
}

it.each(['latin-400', 'latin-ext-700', 'greek-400'])(
  '%s has all its tables with the right checksums',
  (part) => {
    const font = unpackWoff(packedFont(part));
    const count = font.readUInt16BE(4);
    const tags: string[] = [];
    for (let i = 0; i < count; i++) {
      const entry = font.subarray(12 + 16 * i, 28 + 16 * i);
      const [sum, offset, length] = [4, 8, 12].map((at) => entry.readUInt32BE(at));
      const tag = entry.toString('latin1', 0, 4);
      expect(offset % 4, tag).toBe(0);
      expect(checksum(font.subarray(offset, offset + length), tag), tag).toBe(sum);
      tags.push(tag);
    }
    expect(tags).toEqual(expect.arrayContaining(['cmap', 'glyf', 'head', 'hmtx', 'loca', 'name']));
  },
);

it('has the same letters as the packed font', () => {
  const woff = packedFont('latin-400');
  const [packed, plain] = [create(woff), create(unpackWoff(woff))] as [Font, Font];
  expect(plain.characterSet).toEqual(packed.characterSet);
  for (const letter of 'Tab 4é¿@') {
    const [a, b] = [packed, plain].map((font) => font.glyphForCodePoint(letter.codePointAt(0)!));
    expect(b.advanceWidth).toBe(a.advanceWidth);
    expect(b.path.toSVG()).toBe(a.path.toSVG());
  }
});
