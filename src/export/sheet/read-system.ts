import { XMLParser } from 'fast-xml-parser';
import { noteElementId } from '../musicxml/options.ts';
import { type Mark, mapPath } from './marks.ts';

/** One system of music: the staff with its signs, without anything below it. */
export interface System {
  /** The line of the tune that it belongs to, from 0. */
  readonly line: number;
  readonly marks: readonly Mark[];
  /** Middle of the head of each note, by its position in the score. */
  readonly heads: ReadonlyMap<number, number>;
  /** Highest and lowest point of what is drawn, and the staff itself. */
  readonly top: number;
  readonly bottom: number;
  readonly staffTop: number;
  readonly staffBottom: number;
  readonly width: number;
}

/** Verovio's units: a tenth of a millimetre for pages, a hundredth inside them. */
export const POINTS_PER_UNIT = 72 / 2540;

/** An element as fast-xml-parser returns it, with order preserved. */
type Node = Readonly<Record<string, readonly Node[] | Readonly<Record<string, string>> | string>>;

const parser = new XMLParser({
  preserveOrder: true,
  ignoreAttributes: false,
  attributeNamePrefix: '',
  trimValues: false,
});

const childrenOf = (node: Node, tag: string): readonly Node[] =>
  Array.isArray(node[tag]) ? (node[tag] as Node[]) : [];
const attributesOf = (node: Node): Readonly<Record<string, string>> =>
  (node[':@'] as Readonly<Record<string, string>> | undefined) ?? {};
const tagOf = (node: Node): string => Object.keys(node).find((key) => key !== ':@') ?? '';

/** Placeholder words below the staff are left out, as are names of parts and bar numbers. */
const LEFT_OUT = new Set(['verse', 'label', 'labelAbbr', 'mNum']);

interface Reading {
  readonly marks: Mark[];
  readonly heads: Map<number, number>;
  readonly glyphs: Map<string, string>;
  readonly noteIds: ReadonlyMap<string, number>;
  readonly scale: number;
  /** Lines of the staff. */
  readonly staffLines: number[];
  top: number;
  bottom: number;
  right: number;
}

/**
 * Reads a system from verovio's picture.
 * @param line   the line of the tune that it belongs to, from 0
 * @param notes  how many the score has
 * @param glyphs reusable outlines by name; those of the picture are added
 */
export function readSystem(
  svg: string,
  line: number,
  notes: number,
  zoom: number,
  glyphs: Map<string, string>,
): System {
  const reading: Reading = {
    marks: [],
    heads: new Map(),
    glyphs,
    noteIds: new Map(Array.from({ length: notes }, (_, index) => [noteElementId(index), index])),
    scale: POINTS_PER_UNIT * zoom,
    staffLines: [],
    top: Number.POSITIVE_INFINITY,
    bottom: Number.NEGATIVE_INFINITY,
    right: 0,
  };
  for (const node of parser.parse(svg) as Node[]) walk(node, reading, null, '');
  const { marks, heads, top, bottom, right, staffLines } = reading;
  return {
    line,
    marks,
    heads,
    top,
    bottom,
    staffTop: Math.min(...staffLines),
    staffBottom: Math.max(...staffLines),
    width: right,
  };
}

function walk(node: Node, reading: Reading, note: number | null, group: string): void {
  const tag = tagOf(node);
  const attributes = attributesOf(node);
  if (LEFT_OUT.has(attributes.class ?? '')) return;
  const inNote = reading.noteIds.get(attributes.id ?? '') ?? note;
  const inGroup = tag === 'g' && attributes.class !== undefined ? attributes.class : group;
  switch (tag) {
    case 'defs':
      for (const glyph of childrenOf(node, 'defs')) readGlyph(glyph, reading.glyphs);
      return;
    case 'path':
      readPath(attributes, reading, inGroup);
      return;
    case 'use':
      readUse(attributes, reading, inNote, inGroup);
      return;
    case 'polygon':
      readPolygon(attributes, reading);
      return;
    case 'rect':
      addRect(attributes, reading);
      return;
    case 'ellipse':
      addDot(attributes, reading);
      return;
    case 'text':
      readText(node, attributes, reading);
      return;
  }
  for (const child of childrenOf(node, tag)) walk(child, reading, inNote, inGroup);
}

/** `E0A4-x1y2` without the random part. */
const glyphName = (id: string): string => id.replace(/^#/, '').replace(/-.*$/, '');

function readGlyph(node: Node, glyphs: Map<string, string>): void {
  const path = childrenOf(node, 'g').find((child) => tagOf(child) === 'path');
  if (path === undefined) return;
  glyphs.set(glyphName(attributesOf(node).id), attributesOf(path).d);
}

function reach(reading: Reading, x: number, ...ys: number[]): void {
  for (const y of ys) {
    reading.top = Math.min(reading.top, y);
    reading.bottom = Math.max(reading.bottom, y);
  }
  reading.right = Math.max(reading.right, x);
}

function readPath(
  { d, 'stroke-width': strokeWidth }: Record<string, string>,
  reading: Reading,
  group: string,
): void {
  const { scale } = reading;
  const path = mapPath(d, (x, y) => {
    reach(reading, x * scale, y * scale);
    return [x * scale, y * scale];
  });
  if (group === 'staff') reading.staffLines.push(Number(/^M[\d.-]+ ([\d.-]+)/.exec(path)?.[1]));
  reading.marks.push({
    kind: 'path',
    d: path,
    strokeWidth: strokeWidth === undefined ? null : Number(strokeWidth) * scale,
  });
}

/** Half the height that a glyph may reach, and half the width of a head, in verovio's units. */
const GLYPH_REACH = 300;
const HALF_HEAD = 115;

function readUse(
  attributes: Record<string, string>,
  reading: Reading,
  note: number | null,
  group: string,
): void {
  const name = glyphName(attributes['xlink:href']);
  const [x, y, size] = (attributes.transform.match(/-?[\d.]+/g) ?? []).map(Number);
  const { scale } = reading;
  reading.marks.push({ kind: 'glyph', name, x: x * scale, y: y * scale, scale: size * scale });
  if (group === 'notehead' && note !== null && !reading.heads.has(note)) {
    reading.heads.set(note, (x + HALF_HEAD) * scale);
  }
  const around = group === 'notehead' || group === 'accid' ? GLYPH_REACH / 3 : GLYPH_REACH;
  reach(reading, x * scale, (y - around) * scale, (y + around) * scale);
}

function readPolygon({ points }: Record<string, string>, reading: Reading): void {
  const values = (points.match(/-?[\d.]+/g) ?? []).map((value) => Number(value) * reading.scale);
  for (let i = 0; i < values.length; i += 2) reach(reading, values[i], values[i + 1]);
  reading.marks.push({ kind: 'polygon', points: values });
}

function addRect(attributes: Record<string, string>, reading: Reading): void {
  const [x, y, width, height] = ['x', 'y', 'width', 'height'].map(
    (key) => Number(attributes[key]) * reading.scale,
  );
  reach(reading, x + width, y, y + height);
  reading.marks.push({ kind: 'rect', x, y, width, height });
}

function addDot({ cx, cy, rx }: Record<string, string>, reading: Reading): void {
  const [x, y, radius] = [cx, cy, rx].map((value) => Number(value) * reading.scale);
  reach(reading, x, y);
  reading.marks.push({ kind: 'dot', x, y, radius });
}

function readText(node: Node, attributes: Record<string, string>, reading: Reading): void {
  const { text, size } = textOf(node, 'text', 0);
  if (text.trim() === '') return;
  const x = Number(attributes.x) * reading.scale;
  const y = Number(attributes.y) * reading.scale;
  reach(reading, x, y - size * reading.scale, y);
  const anchor =
    attributes['text-anchor'] === 'middle' ? 'middle' : attributes['text-anchor'] === 'end' ? 'end' : 'start';
  reading.marks.push({
    kind: 'text',
    text: text.trim(),
    x,
    y,
    size: size * reading.scale,
    bold: false,
    anchor,
  });
}

function textOf(node: Node, tag: string, sizeAbove: number): { text: string; size: number } {
  const own = Number.parseFloat(attributesOf(node)['font-size'] ?? '');
  let size = own > 0 ? own : sizeAbove;
  let text = '';
  for (const child of childrenOf(node, tag)) {
    if (typeof child['#text'] === 'string') text += child['#text'];
    else {
      const inner = textOf(child, tagOf(child), size);
      text += inner.text;
      size = Math.max(size, inner.size);
    }
  }
  return { text, size };
}
