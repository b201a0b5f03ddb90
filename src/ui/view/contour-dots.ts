import type { Note } from '../../tab/note.ts';
import { hzToMidi } from '../../units.ts';
import type { UiState } from '../state/state.ts';
import { framesOf, type Window } from './window.ts';

/** A braille cell has four dots in height and two in width. */
const DOTS_HIGH = 4;
const DOTS_WIDE = 2;
/** Bits of the dots of a braille cell, by column and row (Unicode 15, block Braille Patterns). */
const DOT_BITS = [
  [0x01, 0x02, 0x04, 0x40],
  [0x08, 0x10, 0x20, 0x80],
];
/** A leap larger than this between frames is not drawn as a line, in semitones. */
const LEAP_SEMITONES = 0.7;

interface Point {
  readonly sec: number;
  /** Real-valued MIDI number; NaN where nothing sounds. */
  readonly midi: number;
}

/** What sounds within the window; until the recording is heard, the held pitch of each note. */
function points({ hearing }: UiState, window: Window, notes: readonly Note[], dotSec: number): Point[] {
  if (hearing === null) {
    return notes.flatMap(({ onsetSec, offsetSec, midi }) => [
      { sec: onsetSec, midi },
      { sec: offsetSec - dotSec, midi },
      { sec: offsetSec, midi: Number.NaN },
    ]);
  }
  const { midi, stepSec } = hearing.track;
  const [from, to] = framesOf(hearing.track, window);
  return Array.from(midi.subarray(from, to), (each, i) => ({ sec: (from + i) * stepSec, midi: each }));
}

/** Dots of the pitch by row and column for the whole window, whether notes were found there or not. */
export function contourDots(
  state: UiState,
  window: Window,
  notes: readonly Note[],
  top: number,
  height: number,
): Uint8Array[] {
  const rows = Array.from({ length: height }, () => new Uint8Array(window.columns));
  const scale = (DOTS_WIDE * window.columns) / (window.toSec - window.fromSec);
  const a4Midi = hzToMidi(state.edited.take.harp.a4Hz) - 69;
  const set = (sec: number, midi: number) => {
    const x = Math.floor((sec - window.fromSec) * scale);
    const y = Math.floor((top + 0.5 - (midi - a4Midi)) * DOTS_HIGH);
    const row = Math.floor(y / DOTS_HIGH);
    const column = Math.floor(x / DOTS_WIDE);
    if (row < 0 || row >= height || column < 0 || column >= window.columns) return;
    rows[row][column] |= DOT_BITS[x % DOTS_WIDE][((y % DOTS_HIGH) + DOTS_HIGH) % DOTS_HIGH];
  };
  let before: Point | null = null;
  for (const point of points(state, window, notes, 1 / scale)) {
    if (Number.isNaN(point.midi)) {
      before = null;
      continue;
    }
    const from: Point = before !== null && isLine(before, point) ? before : point;
    // As many dots between two points as needed for a line without gaps.
    const steps = Math.max((point.sec - from.sec) * scale, Math.abs(point.midi - from.midi) * DOTS_HIGH);
    for (let k = 1; k < steps; k++) {
      const share = k / steps;
      set(from.sec + share * (point.sec - from.sec), from.midi + share * (point.midi - from.midi));
    }
    set(point.sec, point.midi);
    before = point;
  }
  return rows;
}

const isLine = (a: Point, b: Point): boolean => Math.abs(a.midi - b.midi) < LEAP_SEMITONES;
