import type { ContourPoint } from '../../measure/pitch-contour.ts';
import { escapeXml } from '../../text/xml.ts';

/** An attempt at a bend as it is drawn. */
export interface DrawnAttempt {
  /** `your best: 12 cents short` */
  readonly title: string;
  readonly points: readonly ContourPoint[];
  /** Real-valued MIDI number of its target (A4 = 440 Hz). */
  readonly targetMidi: number;
  readonly plainMidi: number;
}

const SIZE = { panel: 300, gap: 24, left: 74, top: 30, plot: 150, bottom: 28 };
const MARGIN_SEMITONES = 0.5;
const INK = '#222222';
const SOFT = '#555555';

/**
 * Attempts at one bend side by side: time to the right, pitch upwards, the unbent reed and the target as lines, the
 * tolerance as a band. All have the same scales.
 * @param attempts  one or more
 */
export function attemptsSvg(
  attempts: readonly DrawnAttempt[],
  {
    plain,
    target,
    toleranceCents,
  }: { readonly plain: string; readonly target: string; readonly toleranceCents: number },
): string {
  const lengths = attempts.map(({ points }) => lengthOf(points));
  const longest = Math.max(0.2, ...lengths);
  const offsets = attempts.flatMap(({ points, targetMidi, plainMidi }) => [
    0,
    plainMidi - targetMidi,
    ...points.flatMap(({ midi }) => (midi === null ? [] : [midi - targetMidi])),
  ]);
  const highest = Math.max(...offsets) + MARGIN_SEMITONES;
  const lowest = Math.min(...offsets) - MARGIN_SEMITONES;
  const width = SIZE.left + attempts.length * SIZE.panel + (attempts.length - 1) * SIZE.gap + 10;
  const height = SIZE.top + SIZE.plot + SIZE.bottom;
  const y = (semitones: number): string =>
    (SIZE.top + ((highest - semitones) / (highest - lowest)) * SIZE.plot).toFixed(1);
  const reed = attempts[0].plainMidi - attempts[0].targetMidi;
  const parts = [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-label="${escapeXml(attempts.map(({ title }) => title).join('; '))}" font-family="sans-serif" font-size="13" fill="${INK}">`,
    `<rect width="${width}" height="${height}" fill="#ffffff"/>`,
    `<text x="${SIZE.left - 8}" y="${Number(y(reed)) + 4}" text-anchor="end">${escapeXml(plain)}</text>`,
    `<text x="${SIZE.left - 8}" y="${Number(y(0)) + 4}" text-anchor="end" font-weight="bold">${escapeXml(target)}</text>`,
  ];
  attempts.forEach(({ title, points, targetMidi }, i) => {
    const left = SIZE.left + i * (SIZE.panel + SIZE.gap);
    const start = points[0]?.sec ?? 0;
    const x = (sec: number): string => (left + ((sec - start) / longest) * SIZE.panel).toFixed(1);
    const right = left + SIZE.panel;
    const band = toleranceCents / 100;
    parts.push(
      `<text x="${left}" y="18">${escapeXml(title)}</text>`,
      `<rect x="${left}" y="${y(band)}" width="${SIZE.panel}" height="${(Number(y(-band)) - Number(y(band))).toFixed(1)}" fill="#e3efe3"/>`,
      `<line x1="${left}" y1="${y(reed)}" x2="${right}" y2="${y(reed)}" stroke="#999999" stroke-dasharray="4 4"/>`,
      `<line x1="${left}" y1="${y(0)}" x2="${right}" y2="${y(0)}" stroke="${INK}"/>`,
      `<path d="${pathOf(points, (point) => `${x(point.sec)} ${y(point.midi - targetMidi)}`)}" fill="none" stroke="#1f5f99" stroke-width="2.5"/>`,
      `<text x="${right}" y="${height - 8}" text-anchor="end" fill="${SOFT}" font-size="12">${longest.toFixed(1)} s</text>`,
    );
  });
  return `${[...parts, '</svg>'].join('')}`;
}

function lengthOf(points: readonly ContourPoint[]): number {
  return points.length === 0 ? 0 : points[points.length - 1].sec - points[0].sec;
}

/** A line through the points with a pitch, broken where there is none. */
function pathOf(
  points: readonly ContourPoint[],
  place: (point: { readonly sec: number; readonly midi: number }) => string,
): string {
  let path = '';
  let open = false;
  for (const { sec, midi } of points) {
    if (midi === null) open = false;
    else {
      path += `${open ? 'L' : 'M'}${place({ sec, midi })}`;
      open = true;
    }
  }
  return path;
}
