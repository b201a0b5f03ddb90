/** Something drawn, in points (1/72 inch), y downwards. Filled black unless said otherwise. */
export type Mark =
  | { readonly kind: 'path'; readonly d: string; readonly strokeWidth: number | null }
  /** An outline from the glyphs of the drawing, its own units scaled and moved. */
  | {
      readonly kind: 'glyph';
      readonly name: string;
      readonly x: number;
      readonly y: number;
      readonly scale: number;
    }
  | {
      readonly kind: 'rect';
      readonly x: number;
      readonly y: number;
      readonly width: number;
      readonly height: number;
      /** Corner radius. */
      readonly radius?: number;
      readonly fill?: string;
      readonly stroke?: string;
    }
  | { readonly kind: 'polygon'; readonly points: readonly number[] }
  | { readonly kind: 'dot'; readonly x: number; readonly y: number; readonly radius: number }
  | TextMark;

export interface TextMark {
  readonly kind: 'text';
  readonly text: string;
  readonly x: number;
  /** The base line. */
  readonly y: number;
  readonly size: number;
  readonly bold: boolean;
  readonly anchor: 'start' | 'middle' | 'end';
  readonly colour?: string;
}

/** Outlines by name, as SVG path data. */
export type Glyphs = ReadonlyMap<string, string>;

/** A mark moved by some points. */
export function moved(mark: Mark, dx: number, dy: number): Mark {
  switch (mark.kind) {
    case 'path':
      return { ...mark, d: movePath(mark.d, dx, dy) };
    case 'polygon':
      return { ...mark, points: mark.points.map((value, i) => value + (i % 2 === 0 ? dx : dy)) };
    default:
      return { ...mark, x: mark.x + dx, y: mark.y + dy };
  }
}

/** A mark drawn larger or smaller, about its origin. */
export function scaled(mark: Mark, by: number): Mark {
  switch (mark.kind) {
    case 'path': {
      const d = mapPath(mark.d, (x, y) => [x * by, y * by]);
      return { ...mark, d, strokeWidth: mark.strokeWidth === null ? null : mark.strokeWidth * by };
    }
    case 'polygon':
      return { ...mark, points: mark.points.map((value) => value * by) };
    case 'glyph':
      return { ...mark, x: mark.x * by, y: mark.y * by, scale: mark.scale * by };
    case 'rect': {
      const radius = mark.radius === undefined ? {} : { radius: mark.radius * by };
      return {
        ...mark,
        x: mark.x * by,
        y: mark.y * by,
        width: mark.width * by,
        height: mark.height * by,
        ...radius,
      };
    }
    case 'dot':
      return { ...mark, x: mark.x * by, y: mark.y * by, radius: mark.radius * by };
    case 'text':
      return { ...mark, x: mark.x * by, y: mark.y * by, size: mark.size * by };
  }
}

/** The engraver's paths are absolute: pairs of x and y throughout (M, L, C, Q, Z). */
function movePath(d: string, dx: number, dy: number): string {
  return mapPath(d, (x, y) => [x + dx, y + dy]);
}

/** Path data with each point replaced; absolute commands of whole points only. */
export function mapPath(d: string, of: (x: number, y: number) => readonly [number, number]): string {
  return d.replace(/(-?[\d.]+)[\s,]+(-?[\d.]+)/g, (_, x: string, y: string) =>
    of(Number(x), Number(y)).map(short).join(' '),
  );
}

/** Two decimals are a hundredth of a point: finer than any printer. */
export function short(value: number): string {
  return String(Math.round(value * 100) / 100);
}
