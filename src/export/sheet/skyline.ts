import type { Mark } from './marks.ts';
import { mapPath } from './marks.ts';

/** How far a glyph reaches below its origin and to the right, in its units: 250 are a space of the staff. */
const HEAD = { below: 130, wide: 300 };
const OTHER = { below: 350, wide: 280 };
/** SMuFL's code points of noteheads begin like this. */
const NOTEHEAD = /^E0A/i;

/** The lowest point drawn between two places of a system, y downwards; minus infinity if nothing is. */
export function lowestBetween(marks: readonly Mark[], left: number, right: number): number {
  let lowest = Number.NEGATIVE_INFINITY;
  for (const mark of marks) {
    for (const [x, end, y] of reachOf(mark)) if (end >= left && x <= right) lowest = Math.max(lowest, y);
  }
  return lowest;
}

/** How far a mark reaches to either side, and how low; a line of the staff counts as the whole staff. */
function reachOf(mark: Mark): readonly (readonly [from: number, to: number, bottom: number])[] {
  switch (mark.kind) {
    case 'glyph': {
      const { below, wide } = NOTEHEAD.test(mark.name) ? HEAD : OTHER;
      return [[mark.x, mark.x + wide * mark.scale, mark.y + below * mark.scale]];
    }
    case 'path': {
      const points: [number, number][] = [];
      mapPath(mark.d, (x, y) => {
        points.push([x, y]);
        return [x, y];
      });
      return boxOf(points);
    }
    case 'polygon':
      return boxOf(
        Array.from({ length: mark.points.length / 2 }, (_, i) => [
          mark.points[2 * i],
          mark.points[2 * i + 1],
        ]),
      );
    case 'rect':
      return [[mark.x, mark.x + mark.width, mark.y + mark.height]];
    case 'dot':
      return [[mark.x - mark.radius, mark.x + mark.radius, mark.y + mark.radius]];
    case 'text':
      // Words beside the staff are above it.
      return [];
  }
}

function boxOf(points: readonly (readonly number[])[]): [number, number, number][] {
  if (points.length === 0) return [];
  const xs = points.map(([x]) => x);
  return [[Math.min(...xs), Math.max(...xs), Math.max(...points.map(([, y]) => y))]];
}
