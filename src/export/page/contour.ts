import type { ContourPoint } from '../../measure/pitch-contour.ts';
import { formatTabNote, type TabStyle } from '../../tab/text.ts';
import { escapeHtml } from '../../text/html.ts';
import type { Score, ScoreNote } from '../score.ts';
import { printed } from '../sheet/system-block.ts';

const PX_PER_SEC = 90;
const PX_PER_SEMITONE = 14;
/** Room for the names of the rows. */
const LEFT_PX = 88;
const MARGIN_SEMITONES = 1.5;

/**
 * One phrase as a picture: time to the right, a row for every pitch that the harp has there, its notes as bars and
 * the measured pitch as a line.
 */
export function contourSvg(
  score: Score,
  notes: readonly ScoreNote[],
  contours: readonly (readonly ContourPoint[])[] | null,
  style: TabStyle,
  label: string,
): string {
  const fromSec = notes[0].played.onsetSec - 0.1;
  const toSec = notes[notes.length - 1].played.offsetSec + 0.1;
  const drawn = notes.map(({ index, midi }) => ({ index, midi, points: contours?.[index] ?? [] }));
  const heard = drawn.flatMap(({ midi, points }) => [midi, ...points.flatMap((p) => p.midi ?? [])]);
  const top = heard.reduce((a, b) => Math.max(a, b)) + MARGIN_SEMITONES;
  const bottom = heard.reduce((a, b) => Math.min(a, b)) - MARGIN_SEMITONES;
  const x = (sec: number) => (LEFT_PX + (sec - fromSec) * PX_PER_SEC).toFixed(1);
  const y = (midi: number) => ((top - midi) * PX_PER_SEMITONE).toFixed(1);
  const width = Math.ceil(LEFT_PX + (toSec - fromSec) * PX_PER_SEC);
  const height = Math.ceil((top - bottom) * PX_PER_SEMITONE);
  const rows = rowsOf(score)
    .filter(({ midi }) => midi > bottom && midi < top)
    .map(
      ({ midi, names }) =>
        `<line class="row" x1="${LEFT_PX}" x2="${width}" y1="${y(midi)}" y2="${y(midi)}"/><text x="${LEFT_PX - 6}" y="${y(midi - 0.3)}" text-anchor="end">${escapeHtml(names(style))}</text>`,
    );
  const bars = notes.map(
    ({ index, midi, played }) =>
      `<rect class="bar" data-n="${index}" x="${x(played.onsetSec)}" y="${y(midi + 0.4)}" width="${((played.offsetSec - played.onsetSec) * PX_PER_SEC).toFixed(1)}" height="${(0.8 * PX_PER_SEMITONE).toFixed(1)}" rx="2"/>`,
  );
  const lines = drawn.map(({ points }) => {
    let path = '';
    let pen = false;
    for (const { sec, midi } of points) {
      if (midi !== null) path += `${pen ? 'L' : 'M'}${x(sec)} ${y(midi)}`;
      pen = midi !== null;
    }
    return path === '' ? '' : `<path class="pitch" d="${path}"/>`;
  });
  return `<div class="scroll"><svg class="contour" preserveAspectRatio="xMinYMid" role="img" aria-label="${escapeHtml(label)}" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" data-from="${fromSec}" data-left="${LEFT_PX}" data-scale="${PX_PER_SEC}">${rows.join('')}${bars.join('')}${lines.join('')}<line class="cursor" x1="-9" x2="-9" y1="0" y2="${height}"/></svg></div>`;
}

/** The pitches of the harp, with the notes that have each. */
function rowsOf({ harp: playable }: Score): { midi: number; names: (style: TabStyle) => string }[] {
  const pitches = [...new Set(playable.map(({ midi }) => midi))];
  return pitches.map((midi) => ({
    midi,
    names: (style) =>
      playable
        .filter((note) => note.midi === midi)
        .sort((a, b) => Number(a.over) - Number(b.over) || a.bend - b.bend)
        .slice(0, 2)
        .map((note) => printed(formatTabNote(note, style)))
        .join(' or '),
  }));
}
