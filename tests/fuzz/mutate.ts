import type { Chance } from './chance.ts';

/** Numbers at which programs break: limits of integers, counts that no file has room for. */
const EDGES = [
  0, 1, 2, 3, 7, 8, 0x7f, 0x80, 0xff, 0x7fff, 0xffff, 0x7fffffff, 0x80000000, 0xfffffffe, 0xffffffff,
];
const MOST_CHANGES = 6;
const LONGEST_PIECE = 64;

/**
 * Bytes with a few changes: bits turned over, edge numbers put where a size may be, pieces cut, doubled, moved or taken
 * from another file, the end cut off.
 */
export function mutateBytes(seed: Uint8Array, others: readonly Uint8Array[], chance: Chance): Uint8Array {
  let bytes = Buffer.from(seed);
  for (let n = 1 + chance.below(MOST_CHANGES); n > 0 && bytes.length > 0; n--)
    bytes = change(bytes, others, chance);
  return bytes;
}

function change(bytes: Buffer, others: readonly Uint8Array[], chance: Chance): Buffer<ArrayBuffer> {
  // Heads are small and decide most.
  const at = chance.below(chance.happens(0.6) ? Math.min(bytes.length, 400) : bytes.length);
  const length = Math.min(1 + chance.below(LONGEST_PIECE), bytes.length - at);
  const copy = Buffer.from(bytes);
  switch (chance.below(8)) {
    case 0:
      copy[at] ^= 1 << chance.below(8);
      return copy;
    case 1:
      copy[at] = chance.below(256);
      return copy;
    case 2:
    case 3:
      return putNumber(copy, at, chance);
    case 4:
      return Buffer.concat([copy.subarray(0, at), copy.subarray(at + length)]);
    case 5: {
      const piece = copy.subarray(at, at + length);
      const times = chance.happens(0.1) ? 1 + chance.below(2000) : 1 + chance.below(3);
      return Buffer.concat([
        copy.subarray(0, at),
        ...new Array<Buffer>(times).fill(piece),
        copy.subarray(at),
      ]);
    }
    case 6: {
      const other = chance.pick(others);
      const from = chance.below(other.length);
      return Buffer.concat([copy.subarray(0, at), other.subarray(from, from + length), copy.subarray(at)]);
    }
    default:
      return chance.happens(0.3) ? copy.subarray(0, at) : putNumber(copy, at, chance);
  }
}

function putNumber(bytes: Buffer<ArrayBuffer>, at: number, chance: Chance): Buffer<ArrayBuffer> {
  const value = chance.happens(0.7) ? chance.pick(EDGES) : chance.below(2 ** 32);
  const way = at + 4 > bytes.length ? 0 : 1 + chance.below(4);
  if (way === 0) bytes[at] = value & 0xff;
  else if (way <= 2) bytes.writeUInt32BE(value >>> 0, at);
  else if (way === 3) bytes.writeUInt32LE(value >>> 0, at);
  else bytes.writeUInt16BE(value & 0xffff, at);
  return bytes;
}

/** Texts that control terminals, end lines, or are unusually encoded. */
const STRANGE_TEXTS = [
  '\u001b[2J',
  '\u001b]0;x\u0007',
  '\u202e',
  '\u2066',
  '\0',
  '\r',
  '\n\n',
  '\u2028',
  '\ufeff',
  '\ud800',
  '👩‍🎤',
  'e\u0301',
  '<',
  '&',
  '"',
  "'",
  '%',
  '\\',
  '__proto__',
  'constructor',
  '../../x',
  '-',
  '1e309',
  '9'.repeat(40),
  '-0',
  'NaN',
];

/**
 * Text with a few changes: words of the language of the file put in, taken out, doubled or changed for each other.
 * @param words  what files of this kind are made of
 */
export function mutateText(seed: string, words: readonly string[], chance: Chance): string {
  let text = seed;
  for (let n = 1 + chance.below(MOST_CHANGES); n > 0; n--) {
    const at = chance.below(text.length + 1);
    const end = at + chance.below(LONGEST_PIECE);
    const word = chance.happens(0.8) ? chance.pick(words) : chance.pick(STRANGE_TEXTS);
    switch (chance.below(5)) {
      case 0:
        text = text.slice(0, at) + word + text.slice(at);
        break;
      case 1:
        text = text.slice(0, at) + text.slice(end);
        break;
      case 2: {
        const times = chance.happens(0.05) ? 1 + chance.below(500) : 1 + chance.below(4);
        text = text.slice(0, at) + text.slice(at, end).repeat(times) + text.slice(at);
        break;
      }
      case 3:
        text = text.slice(0, at) + word + text.slice(end);
        break;
      default: {
        const from = chance.below(text.length + 1);
        text = text.slice(0, at) + text.slice(from, from + (end - at)) + text.slice(end);
      }
    }
  }
  return text;
}

type Json = null | boolean | number | string | Json[] | { [key: string]: Json };

const STRANGE_VALUES: readonly Json[] = [
  null,
  true,
  false,
  0,
  -1,
  1,
  0.5,
  1e9,
  1e308,
  -1e308,
  2 ** 53,
  4294967296,
  1e-320,
  '',
  'x',
  [],
  {},
  [[]],
  'x'.repeat(2000),
  101,
  86_401,
  12_000_001,
  ...STRANGE_TEXTS,
];

/** A value with a few changes at any depth: numbers at their edges, fields gone, lists doubled or turned about. */
export function mutateJson(seed: unknown, chance: Chance): unknown {
  const value = structuredClone(seed) as Json;
  for (let n = 1 + chance.below(3); n > 0; n--) changeIn(value, chance);
  return value;
}

function changeIn(value: Json, chance: Chance): void {
  if (typeof value !== 'object' || value === null) return;
  const keys = Object.keys(value);
  if (keys.length === 0) return;
  const holder = value as Record<string, Json>;
  const key = chance.pick(keys);
  const inside = holder[key];
  const isHolder = typeof inside === 'object' && inside !== null && Object.keys(inside).length > 0;
  if (isHolder && chance.happens(0.85)) {
    changeIn(inside, chance);
    return;
  }
  if (Array.isArray(inside) && chance.happens(0.7)) changeList(inside, chance);
  else if (typeof inside === 'number' && chance.happens(0.6)) holder[key] = nearNumber(inside, chance);
  else if (Array.isArray(value) || chance.happens(0.75))
    holder[key] = structuredClone(chance.pick(STRANGE_VALUES));
  else if (chance.happens(0.5)) delete holder[key];
  else holder[key] = structuredClone(holder[chance.pick(keys)]);
}

function changeList(list: Json[], chance: Chance): void {
  const at = chance.below(list.length + 1);
  switch (chance.below(4)) {
    case 0:
      list.splice(at, 1 + chance.below(3));
      break;
    case 1:
      list.splice(at, 0, ...structuredClone(list.slice(0, 1 + chance.below(4))));
      break;
    case 2:
      list.reverse();
      break;
    default:
      list.splice(at, 0, structuredClone(chance.pick(STRANGE_VALUES)));
  }
}

function nearNumber(value: number, chance: Chance): number {
  return chance.pick([
    value + 1,
    value - 1,
    -value,
    value * 1000,
    value / 1000,
    value + 0.5,
    Math.round(value),
    0,
  ]);
}

const ELEMENT =
  /<([a-z][\w-]*)(?:\s[^>]*)?>[^<]*<\/\1>|<[a-z][\w-]*(?:\s[^>]*)?\/>|<(note|measure|attributes|backup|direction)(?:\s[^>]*)?>[\s\S]*?<\/\2>/g;
const STRANGE_CONTENT = [
  '',
  '0',
  '-1',
  '1e9',
  '1e308',
  '0.001',
  '99999999999',
  'x',
  '12',
  'start',
  'minor',
  '\u202e',
  '&#27;[2J',
  '&amp;',
];

/** XML that is still XML: elements gone, doubled, moved, or with other content. */
export function mutateXml(seed: string, chance: Chance): string {
  let text = seed;
  for (let n = 1 + chance.below(MOST_CHANGES); n > 0; n--) {
    const found = [...text.matchAll(ELEMENT)];
    if (found.length === 0) return text;
    const { 0: element, index } = chance.pick(found);
    const [before, behind] = [text.slice(0, index), text.slice(index + element.length)];
    switch (chance.below(5)) {
      case 0:
        text = before + behind;
        break;
      case 1:
        text = before + element.repeat(chance.happens(0.05) ? 300 : 2) + behind;
        break;
      case 2:
        text = before + chance.pick(found)[0] + behind;
        break;
      default:
        text = `${before}${element.replace(/>[^<]*</, `>${chance.pick(STRANGE_CONTENT)}<`)}${behind}`;
    }
  }
  return text;
}
