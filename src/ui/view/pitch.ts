import { findPlayable } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { Note } from '../../tab/note.ts';
import { formatTabNote } from '../../tab/text.ts';
import type { UiState } from '../state/state.ts';
import { leakLine, levelLine, timeLine } from './below-pitch.ts';
import { contourDots } from './contour-dots.ts';
import { type Line, padText, type Span, type Style, span } from './line.ts';
import { fill } from './tab.ts';
import { type Contours, columnsOf, LABEL_COLUMNS, type Window, windowOf } from './window.ts';

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
    const harp = playable.map(({ midi }) => midi);
    const highest = Math.max(top, ...harp);
    const lowest = Math.min(bottom, ...harp);
    // In the middle of the notes, as far as there are rows of the harp.
    const middle = top + Math.ceil(spare / 2);
    top =
      height > highest - lowest
        ? Math.ceil((highest + lowest + height - 1) / 2)
        : Math.min(highest, Math.max(lowest + height - 1, middle));
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
