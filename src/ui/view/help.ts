import { HELP_ROWS } from '../keys.ts';
import type { Size } from '../state/state.ts';
import { type Line, padText, plain, span } from './line.ts';

const SIGNS = [
  ["-3''", 'draw, bent two semitones;  6o overblow;  [ ] the current note'],
  ['/-4 -4~ -4\\', 'scooped into, vibrato, falls off'],
  ['?', 'the hole is doubtful'],
  ['!', 'out of tune, or another hole sounds too'],
  ['▶ ━', 'where the current note is meant to be'],
  ['⠤⠒⠉', 'what was heard; a row is a semitone'],
] as const;

/** All keys explained, from the same table that the keyboard uses, and the signs. */
export const HELP_LINES: readonly Line[] = [
  ...[...new Set(HELP_ROWS.map(({ group }) => group))].flatMap((title) =>
    chapter(
      title,
      HELP_ROWS.filter(({ group }) => group === title).map(({ show, help }) => [show, help]),
    ),
  ),
  ...chapter('Signs', SIGNS),
  [span('Care', { bold: true })],
  plain('  Listening on headphones: keep the level moderate and take breaks.'),
];

function chapter(title: string, entries: readonly (readonly [show: string, help: string])[]): Line[] {
  const rows = entries.map(([show, help]) => [span(`  ${padText(show, 11)}`, { bold: true }), span(help)]);
  return [[span(title, { bold: true })], ...rows, []];
}

/** Rows of the screen not available to the help: title, an empty one, keys, and the last, which stays empty. */
const FRAME_ROWS = 4;

/** How many rows of the help are visible at once. */
export function helpRows({ rows }: Size): number {
  return Math.max(1, rows - FRAME_ROWS);
}
