import type { Note } from '../../tab/note.ts';
import { type Line, padText, span, widthOf } from './line.ts';
import { clock } from './time.ts';
import { type Contours, columnsOf, contourKey, LABEL_COLUMNS, type Window } from './window.ts';

const BARS = '▁▂▃▄▅▆▇█';
/** Levels from this far below the loudest of the phrase are the lowest bar, in dB. */
const LEVEL_RANGE_DB = 30;

/** Level of what sounds, as bars. */
export function levelLine(contours: Contours, window: Window, notes: readonly Note[]): Line {
  const level = new Float64Array(window.columns).fill(Number.NEGATIVE_INFINITY);
  const scale = window.columns / (window.toSec - window.fromSec);
  for (const note of notes) {
    const contour = contours.get(contourKey(note));
    const [from, to] = columnsOf(window, note);
    if (contour === undefined) for (let c = from; c < to; c++) level[c] = Math.max(level[c], note.levelDb);
    for (const { sec, levelDb } of contour ?? []) {
      const c = Math.floor((sec - window.fromSec) * scale);
      if (c >= 0 && c < window.columns) level[c] = Math.max(level[c], levelDb);
    }
  }
  const loudest = Math.max(...level);
  let text = '';
  for (const db of level) {
    const share = 1 + (db - loudest) / LEVEL_RANGE_DB;
    text += share > -1 ? BARS[Math.max(0, Math.min(BARS.length - 1, Math.floor(share * BARS.length)))] : ' ';
  }
  return [span(padText('level', LABEL_COLUMNS - 1)), span('│'), span(text, { dim: true })];
}

/** Holes that sound along, under the notes that they spoil. */
export function leakLine(window: Window, notes: readonly Note[]): Line {
  const text: string[] = new Array(window.columns).fill(' ');
  for (const note of notes) {
    if (note.leak === null) continue;
    const word = `${note.leak.hole}!`;
    const [from] = columnsOf(window, note);
    for (let i = 0; i < word.length && from + i < window.columns; i++) text[from + i] = word[i];
  }
  return [
    span(padText('leak, hole', LABEL_COLUMNS - 1)),
    span('│'),
    span(text.join(''), { colour: 'red', bold: true }),
  ];
}

/** Times under the picture, on whole seconds or tenths as fits. */
export function timeLine(window: Window): Line {
  const perColumn = (window.toSec - window.fromSec) / window.columns;
  const stepSec = [0.2, 0.5, 1, 2, 5, 10].find((step) => step / perColumn >= 9) ?? 20;
  const text: string[] = new Array(window.columns).fill(' ');
  for (let k = Math.ceil(window.fromSec / stepSec); k * stepSec < window.toSec; k++) {
    const sec = k * stepSec;
    const word =
      stepSec < 1 ? `${clock(sec + 1e-6)}.${Math.round(((sec + 1e-6) % 1) * 10) % 10}` : clock(sec + 1e-6);
    const at = Math.floor((sec - window.fromSec) / perColumn);
    if (sec < 0 || at + widthOf(word) + 1 > window.columns) continue;
    text[at] = '╵';
    for (let i = 0; i < word.length; i++) text[at + 1 + i] = word[i];
  }
  return [span(padText('time', LABEL_COLUMNS - 1)), span('│'), span(text.join(''), { dim: true })];
}
