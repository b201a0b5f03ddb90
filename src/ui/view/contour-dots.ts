import type { Note } from '../../tab/note.ts';
import { hzToMidi } from '../../units.ts';
import type { UiState } from '../state/state.ts';
import { type Contours, contourKey, type Window } from './window.ts';

/** A braille cell has four dots in height and two in width. */
const DOTS_HIGH = 4;
const DOTS_WIDE = 2;
/** Bits of the dots of a braille cell, by column and row (Unicode 15, block Braille Patterns). */
const DOT_BITS = [
  [0x01, 0x02, 0x04, 0x40],
  [0x08, 0x10, 0x20, 0x80],
];

/** Dots of the contour by row and column; without a recording the held pitch of each note. */
export function contourDots(
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
