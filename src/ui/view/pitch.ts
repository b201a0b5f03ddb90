import { findPlayable } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { Note } from '../../tab/note.ts';
import { formatTabNote } from '../../tab/text.ts';
import { hzToMidi } from '../../units.ts';
import { leftOutMarks } from '../state/left-out.ts';
import { type Mark, marksOf } from '../state/marks.ts';
import { bareFocus } from '../state/place.ts';
import type { UiState } from '../state/state.ts';
import { leakLine, levelLine, namesLine, timeLine } from './below-pitch.ts';
import { contourDots } from './contour-dots.ts';
import { type Line, padText, type Span, type Style, span } from './line.ts';
import { fill } from './tab.ts';
import { columnsOf, drawnColumns, framesOf, LABEL_COLUMNS, type Window, windowOf } from './window.ts';

type Stretch = Pick<Note, 'onsetSec' | 'offsetSec'>;

/** A pitch that sounds for fewer consecutive frames than this gets no row. */
const LEAST_FRAMES = 4;
const SAME_SEMITONES = 0.5;

/** What the picture shows. */
interface Scene {
  readonly window: Window;
  readonly notes: readonly Note[];
  /** Sounds in it without a note: left out, or missed. */
  readonly bare: readonly Mark[];
  /** Where the cursor is: on a note, or on a sound without one. */
  readonly here: Stretch | null;
  readonly hereRow: number | null;
  /** Where playback is; null if nothing is playing, or it is elsewhere. */
  readonly head: number | null;
  readonly leaks: boolean;
  /** Highest and lowest row, as MIDI numbers on the harp's A4. */
  readonly top: number;
  readonly bottom: number;
  readonly rowOf: (note: Note) => number;
}

/** Kept because its height is needed before it is drawn. */
const scenes = new WeakMap<UiState, Scene>();

function sceneOf(state: UiState, columns: number): Scene {
  const known = scenes.get(state);
  if (known?.window.columns === drawnColumns(columns)) return known;
  const scene = lookUp(state, columns);
  scenes.set(state, scene);
  return scene;
}

function lookUp(state: UiState, columns: number): Scene {
  const focus = bareFocus(state);
  const { window, notes } = windowOf(state, columns, focus === null ? null : focus.sec);
  const isSeen = ({ sound }: Mark) =>
    sound !== null && sound.onsetSec < window.toSec && sound.offsetSec > window.fromSec;
  const bare = marksOf(state).filter((mark) => mark.kind === 'bare' && isSeen(mark));
  const leftOut = leftOutMarks(state).filter(isSeen);
  const { playable } = state;
  const a4Midi = hzToMidi(state.edited.take.harp.a4Hz) - 69;
  const targets = new Map(notes.map((note) => [note.id, findPlayable(playable, note)]));
  const rowOf = (note: Note) => targets.get(note.id)?.midi ?? Math.round(note.midi - a4Midi);
  const rows: number[] = [];
  // The reed above a bend is shown too, so that the bend can be seen below it.
  for (const note of notes) rows.push(rowOf(note), rowOf(note) + note.bend);
  if (state.hearing === null) for (const note of notes) rows.push(Math.round(note.midi - a4Midi));
  else rows.push(...soundingRows(state, window, a4Midi));
  const current = state.edited.take.notes[state.at];
  const here = focus?.sound ?? current ?? null;
  const hereRow =
    focus?.sound != null
      ? Math.round(focus.sound.midi - a4Midi)
      : current === undefined
        ? null
        : rowOf(current);
  const head = state.playing?.headSec ?? Number.NaN;
  const usual = playable[0]?.midi ?? 60;
  return {
    window,
    notes,
    bare: [...leftOut, ...bare],
    here,
    hereRow,
    rowOf,
    head: head >= window.fromSec && head < window.toSec ? head : null,
    leaks: notes.some(({ leak }) => leak !== null),
    top: rows.length === 0 ? usual + 12 : rows.reduce((a, b) => Math.max(a, b)),
    bottom: rows.length === 0 ? usual : rows.reduce((a, b) => Math.min(a, b)),
  };
}

/** Rows in which something sounds for more than a moment. */
function soundingRows({ hearing }: UiState, window: Window, a4Midi: number): number[] {
  if (hearing === null) return [];
  const { midi } = hearing.track;
  const [from, to] = framesOf(hearing.track, window);
  const rows = new Set<number>();
  let count = 0;
  for (let t = from; t < to; t++) {
    count = Math.abs(midi[t] - midi[t - 1]) < SAME_SEMITONES ? count + 1 : 1;
    if (count >= LEAST_FRAMES) rows.add(Math.round(midi[t] - a4Midi));
  }
  return [...rows];
}

/** Names, level and time, and the leaks where there are any. */
const rowsBeside = ({ leaks }: Scene): number => (leaks ? 4 : 3);

/** How many rows are needed for everything that sounds or is written in the phrase. */
export function pitchHeight(state: UiState, columns: number): number {
  const scene = sceneOf(state, columns);
  return scene.top - scene.bottom + 1 + rowsBeside(scene);
}

/**
 * The pitch of what sounds in and around the current phrase, over rows for the harp's notes, with the notes, level,
 * leaks and times; `height` rows.
 */
export function pitchView(state: UiState, columns: number, height: number): Line[] {
  if (height < 4) return fill([], height);
  const scene = sceneOf(state, columns);
  const { window, notes } = scene;
  return fill(
    [
      namesLine(window, notes, scene.bare, scene.here),
      ...plotLines(state, scene, Math.max(1, height - rowsBeside(scene))),
      levelLine(state, window, notes),
      ...(scene.leaks ? [leakLine(window, notes)] : []),
      timeLine(window),
    ],
    height,
  );
}

/** The notes of the harp at a semitone, plain ones first, as many as fit. */
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

function plotLines(state: UiState, scene: Scene, height: number): Line[] {
  const { playable } = state;
  const { window, notes, hereRow } = scene;
  const rows = Math.min(height, scene.top - scene.bottom + 1);
  // If there is not enough room, scroll to the cursor.
  const wanted = (hereRow ?? scene.top) + Math.floor(rows / 2);
  const top = Math.min(scene.top, Math.max(scene.bottom + rows - 1, wanted));
  const bottom = top - rows + 1;
  const dots = contourDots(state, window, notes, top, rows);
  const lines: Line[] = [];
  for (let midi = top; midi >= bottom; midi--) {
    const isHere = midi === hereRow;
    const more =
      midi === top && top < scene.top
        ? '▲'
        : midi === bottom && bottom > scene.bottom
          ? '▼'
          : isHere
            ? '▶'
            : ' ';
    const label = padText(rowLabel(playable, midi), LABEL_COLUMNS - 2);
    const cells = rowCells(scene, midi, dots[top - midi]);
    lines.push([span(`${label}${more}│`, isHere ? { bold: true } : undefined), ...cells]);
  }
  return lines;
}

/** One row of the picture: where notes should be, and over that the dots of what sounds. */
function rowCells({ window, notes, here, head, rowOf }: Scene, midi: number, dots: Uint8Array): Span[] {
  const text: string[] = new Array(window.columns).fill(' ');
  const strong: boolean[] = new Array(window.columns).fill(false);
  for (const note of notes) {
    const [from, to] = columnsOf(window, note);
    if (rowOf(note) === midi) text.fill(note === here ? '━' : '─', from, to);
  }
  if (here !== null) {
    const [from, to] = columnsOf(window, here);
    strong.fill(true, from, to);
    // Its bounds are drawn through all rows.
    for (const c of [from, to]) if (text[c] === ' ') text[c] = '┊';
  }
  if (head !== null) {
    const [from] = columnsOf(window, { onsetSec: head, offsetSec: head });
    if (text[from] === ' ') text[from] = '┃';
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
