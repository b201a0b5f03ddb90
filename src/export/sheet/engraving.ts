import { XMLParser } from 'fast-xml-parser';
import { ReedtraceError } from '../../errors.ts';
import { writeMusicXml } from '../musicxml/musicxml.ts';
import { noteElementId } from '../musicxml/options.ts';
import { type Bar, buildLines } from '../notation/bars.ts';
import type { Score, ScoreNote } from '../score.ts';
import { type Glyphs, type Mark, mapPath } from './marks.ts';

/** One system of music: the staff with its signs, without anything below it. */
export interface System {
  /** The line of the tune that it belongs to, from 0. */
  readonly line: number;
  readonly marks: readonly Mark[];
  /** By position of a note in the score: the middle of its head. */
  readonly heads: ReadonlyMap<number, number>;
  /** Highest and lowest point of what is drawn, and the staff itself. */
  readonly top: number;
  readonly bottom: number;
  readonly staffTop: number;
  readonly staffBottom: number;
  readonly width: number;
}

/** What verovio engraved, and what it had to say. */
export interface Engraving {
  readonly systems: readonly System[];
  readonly glyphs: Glyphs;
  /** Warnings and errors of the engraver, one a line; empty when there are none. */
  readonly log: string;
}

export interface EngravingOptions {
  /** In points. */
  readonly width: number;
  /** Size of the staff against the engraver's own, whose staff is 7.2 mm high. */
  readonly zoom: number;
  /** Text as wide as all that will stand under a note. */
  readonly spaceFor: (note: ScoreNote) => string;
  /** Size in which `spaceFor` is set, in points. */
  readonly textSize: number;
}

/** Verovio's units: a tenth of a millimetre for pages, a hundredth inside them. */
const POINTS_PER_UNIT = 72 / 2540;
/** Size of words against verovio's own unit, half a space of the staff: 0.9 mm. */
const TEXT_UNIT_POINTS = 90 * POINTS_PER_UNIT;

/**
 * A score engraved on a staff, each line of the tune for itself, in as many systems as it needs (verovio, loaded when first
 * needed).
 * @throws ReedtraceError E_MUSIC_INVALID when verovio can't read the score
 */
export async function engrave(score: Score, options: EngravingOptions): Promise<Engraving> {
  const [{ default: createModule }, { VerovioToolkit, enableLog, enableLogToBuffer, LOG_WARNING }] =
    await Promise.all([import('verovio/wasm'), import('verovio/esm')]);
  const module = await createModule();
  enableLog(LOG_WARNING, module);
  // It prints to the console otherwise.
  enableLogToBuffer(true, module);
  const toolkit = new VerovioToolkit(module);
  try {
    toolkit.setOptions({
      pageWidth: Math.round(options.width / (10 * POINTS_PER_UNIT * options.zoom)),
      // Lower than any system: each has a page of its own.
      pageHeight: 100,
      pageMarginTop: 0,
      pageMarginBottom: 0,
      pageMarginLeft: 0,
      pageMarginRight: 0,
      adjustPageHeight: true,
      header: 'none',
      footer: 'none',
      breaks: 'auto',
      mnumInterval: 0,
      minLastJustification: 0.45,
      lyricSize: Math.min(8, Math.max(2, options.textSize / (TEXT_UNIT_POINTS * options.zoom))),
      svgViewBox: true,
      xmlIdSeed: 1,
    });
    const glyphs = new Map<string, string>();
    const systems: System[] = [];
    for (const [line, bars] of buildLines(score).entries()) {
      if (!toolkit.loadData(xmlOfLine(score, bars, line === 0, options)))
        throw unreadable(score, toolkit.getLog());
      for (let page = 1; page <= toolkit.getPageCount(); page++) {
        systems.push(readSystem(toolkit.renderToSVG(page), line, score.notes.length, options.zoom, glyphs));
      }
    }
    return { systems, glyphs, log: toolkit.getLog().trim() };
  } finally {
    toolkit.destroy();
  }
}

function xmlOfLine(
  score: Score,
  bars: readonly Bar[],
  first: boolean,
  { spaceFor }: EngravingOptions,
): string {
  return writeMusicXml(score, { style: 'signs', part: { bars, first, spaceFor } });
}

function unreadable(score: Score, log: string): ReedtraceError {
  return new ReedtraceError(
    'E_MUSIC_INVALID',
    `'${score.title}' could not be engraved (${log.trim() || 'no reason given'})`,
    'export MusicXML instead and report this take',
  );
}

/** An element as fast-xml-parser gives it with the order kept. */
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

/** Words that stand for what comes below the staff are left out, and so are names of parts and numbers of bars. */
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

function readSystem(
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

/** `E0A4-x1y2` without what is drawn at random. */
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

/** Half the height of what a glyph may reach, and half the width of a head, in verovio's units. */
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
