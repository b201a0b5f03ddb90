import { findPlayable } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { Note } from '../../tab/note.ts';
import { formatTabNote } from '../../tab/text.ts';
import { hzToMidi } from '../../units.ts';
import type { ContourPoint } from '../ears.ts';
import { type Line, padText, type Span, type Style, span, widthOf } from '../line.ts';
import { phraseAt } from '../phrases.ts';
import type { UiState } from '../state.ts';
import { fill } from './tab.ts';
import { clock } from './time.ts';

/** Contours by note, as far as they were measured; `contourKey` names them. */
export type Contours = ReadonlyMap<string, readonly ContourPoint[]>;

export const contourKey = (note: Pick<Note, 'id' | 'onsetSec' | 'offsetSec' | 'midi'>): string =>
  `${note.id} ${note.onsetSec} ${note.offsetSec} ${note.midi}`;

const LABEL_COLUMNS = 12;
/** No column stands for more than this: longer phrases are shown around the current note. */
const COARSEST_SEC = 0.08;
const MARGIN_SEC = 0.1;
/** A braille cell has four dots in height and two in width. */
const DOTS_HIGH = 4;
const DOTS_WIDE = 2;
/** Bits of the dots of a braille cell, by column and row (Unicode 15, block Braille Patterns). */
const DOT_BITS = [
  [0x01, 0x02, 0x04, 0x40],
  [0x08, 0x10, 0x20, 0x80],
];
const BARS = '▁▂▃▄▅▆▇█';
/** Levels from this far below the loudest of the phrase are the lowest bar, in dB. */
const LEVEL_RANGE_DB = 30;

/** The part of the take that is drawn. */
export interface Window {
  readonly fromSec: number;
  readonly toSec: number;
  readonly columns: number;
}

/** Notes of the current phrase, and the time that fits. */
export function windowOf(state: UiState, columns: number): { window: Window; notes: readonly Note[] } {
  const { notes } = state.edited.take;
  const range = state.ranges[phraseAt(state.ranges, state.at)];
  const drawn = Math.max(1, columns - LABEL_COLUMNS);
  let fromSec = notes[range.first].onsetSec - MARGIN_SEC;
  let toSec = notes[range.last].offsetSec + MARGIN_SEC;
  const most = drawn * COARSEST_SEC;
  if (toSec - fromSec > most) {
    const { onsetSec, offsetSec } = notes[state.at];
    const centred = (onsetSec + offsetSec) / 2 - most / 2;
    fromSec = Math.max(fromSec, Math.min(centred, toSec - most));
    toSec = fromSec + most;
  }
  const within = notes
    .slice(range.first, range.last + 1)
    .filter((note) => note.offsetSec > fromSec && note.onsetSec < toSec);
  return { window: { fromSec, toSec, columns: drawn }, notes: within };
}

/** The pitch of the current phrase against the rows of the harp's notes, its level, leaks and times; `height` rows. */
export function pitchView(state: UiState, contours: Contours, columns: number, height: number): Line[] {
  if (state.ranges.length === 0 || height < 3) return fill([], height);
  const { window, notes } = windowOf(state, columns);
  const leaks = notes.some(({ leak }) => leak !== null);
  const plotRows = height - (leaks ? 3 : 2);
  const lines = plotLines(state, contours, window, notes, Math.max(1, plotRows));
  lines.push(levelLine(contours, window, notes));
  if (leaks) lines.push(leakLine(window, notes));
  lines.push(timeLine(window));
  return fill(lines, height);
}

/** What the harp has at a semitone, plain notes first, as many as fit. */
function rowLabel(playable: readonly PlayableNote[], midi: number): string {
  const here = playable.filter((note) => note.midi === midi);
  here.sort((a, b) => effort(a) - effort(b));
  let label = '';
  for (const note of here) {
    const longer = label === '' ? formatTabNote(note) : `${label} ${formatTabNote(note)}`;
    if (longer.length > LABEL_COLUMNS - 2) break;
    label = longer;
  }
  return label;
}

const effort = (note: PlayableNote): number => (note.over ? 10 : note.bend);

function plotLines(
  state: UiState,
  contours: Contours,
  window: Window,
  notes: readonly Note[],
  height: number,
): Line[] {
  const { playable } = state;
  const current = state.edited.take.notes[state.at];
  const targets = new Map(notes.map((note) => [note.id, findPlayable(playable, note)]));
  const rowOf = (note: Note) => targets.get(note.id)?.midi ?? Math.round(note.midi);
  // The reed above a bend belongs to the picture, so that the bend is seen to hang below it.
  const tops = notes.map((note) => Math.max(rowOf(note) + note.bend, Math.round(note.midi)));
  const bottoms = notes.map((note) => Math.min(rowOf(note), Math.round(note.midi)));
  let top = Math.max(...tops);
  let bottom = Math.min(...bottoms);
  const spare = height - (top - bottom + 1);
  let hiddenAbove = false;
  let hiddenBelow = false;
  if (spare >= 0) {
    top += Math.ceil(spare / 2);
    bottom = top - height + 1;
  } else {
    const [highest, lowest] = [top, bottom];
    top = Math.min(highest, Math.max(lowest + height - 1, rowOf(current) + Math.floor(height / 2)));
    bottom = top - height + 1;
    hiddenAbove = top < highest;
    hiddenBelow = bottom > lowest;
  }
  const dots = contourDots(state, contours, window, notes, top, height);
  const lines: Line[] = [];
  for (let midi = top; midi >= bottom; midi--) {
    const isCurrent = midi === rowOf(current);
    const more =
      midi === top && hiddenAbove ? '▲' : midi === bottom && hiddenBelow ? '▼' : isCurrent ? '▶' : ' ';
    const label = padText(rowLabel(playable, midi), LABEL_COLUMNS - 2);
    const cells = rowCells(window, notes, rowOf, midi, current, dots[top - midi]);
    lines.push([span(`${label}${more}│`, isCurrent ? { bold: true } : undefined), ...cells]);
  }
  return lines;
}

/** One row of the picture: where notes are meant to be, and over it the dots of what was heard. */
function rowCells(
  window: Window,
  notes: readonly Note[],
  rowOf: (note: Note) => number,
  midi: number,
  current: Note,
  dots: Uint8Array,
): Span[] {
  const text: string[] = new Array(window.columns).fill(' ');
  const strong: boolean[] = new Array(window.columns).fill(false);
  for (const note of notes) {
    const [from, to] = columnsOf(window, note);
    for (let c = from; c < to; c++) {
      if (note === current) strong[c] = true;
      if (rowOf(note) === midi) text[c] = note === current ? '━' : '─';
    }
  }
  const spans: Span[] = [];
  for (let c = 0; c < window.columns; c++) {
    const dotted = dots[c] !== 0;
    const sign = dotted ? String.fromCharCode(0x2800 + dots[c]) : text[c];
    const style: Style | undefined = strong[c]
      ? { bold: true, colour: 'green' }
      : dotted || sign === ' '
        ? undefined
        : { dim: true };
    const last = spans[spans.length - 1];
    if (last !== undefined && sameStyle(last.style, style))
      spans[spans.length - 1] = { ...last, text: last.text + sign };
    else spans.push(span(sign, style));
  }
  return spans;
}

const sameStyle = (a: Style | undefined, b: Style | undefined): boolean =>
  a?.bold === b?.bold && a?.dim === b?.dim && a?.colour === b?.colour && a?.inverse === b?.inverse;

function columnsOf(window: Window, note: Pick<Note, 'onsetSec' | 'offsetSec'>): [number, number] {
  const scale = window.columns / (window.toSec - window.fromSec);
  const from = Math.round((note.onsetSec - window.fromSec) * scale);
  const to = Math.max(from + 1, Math.round((note.offsetSec - window.fromSec) * scale));
  return [Math.max(0, Math.min(window.columns - 1, from)), Math.min(window.columns, to)];
}

/** Dots of the contour by row and column; without a recording the held pitch of each note. */
function contourDots(
  state: UiState,
  contours: Contours,
  window: Window,
  notes: readonly Note[],
  top: number,
  height: number,
): Uint8Array[] {
  const rows = Array.from({ length: height }, () => new Uint8Array(window.columns));
  const scale = (DOTS_WIDE * window.columns) / (window.toSec - window.fromSec);
  const a4Midi = hzToMidi(state.edited.take.harp.a4Hz) - 69;
  const set = (sec: number, midi: number) => {
    if (!Number.isFinite(midi)) return;
    const x = Math.floor((sec - window.fromSec) * scale);
    const y = Math.floor((top + 0.5 - (midi - a4Midi)) * DOTS_HIGH);
    const row = Math.floor(y / DOTS_HIGH);
    const column = Math.floor(x / DOTS_WIDE);
    if (row < 0 || row >= height || column < 0 || column >= window.columns) return;
    rows[row][column] |= DOT_BITS[x % DOTS_WIDE][((y % DOTS_HIGH) + DOTS_HIGH) % DOTS_HIGH];
  };
  for (const note of notes) {
    const held = [note.onsetSec, note.offsetSec - 1 / scale].map((sec) => ({ sec, midi: note.midi }));
    const points = contours.get(contourKey(note)) ?? held;
    points.forEach((point, i) => {
      const before = points[i - 1] ?? point;
      // As many dots between two points as there is room for, so that the line has no holes.
      const steps = Math.max(
        (point.sec - before.sec) * scale,
        Math.abs(point.midi - before.midi) * DOTS_HIGH,
      );
      for (let k = 1; k < steps; k++) {
        const share = k / steps;
        set(before.sec + share * (point.sec - before.sec), before.midi + share * (point.midi - before.midi));
      }
      set(point.sec, point.midi);
    });
  }
  return rows;
}

function levelLine(contours: Contours, window: Window, notes: readonly Note[]): Line {
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
function leakLine(window: Window, notes: readonly Note[]): Line {
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
function timeLine(window: Window): Line {
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
