import { formatTabNote } from '../../tab/text.ts';
import { textColumns } from '../../text/width.ts';
import { marksOf } from '../state/marks.ts';
import { marksByPhrase } from '../state/phrases.ts';
import type { Size, UiState } from '../state/state.ts';
import { cutLine, type Line, padText, span } from './line.ts';
import { clock } from './time.ts';

/** Rows not available to the list: title, heading, keys and the last, which stays empty. */
const FRAME_ROWS = 4;
/** Rows above the list. */
const HEAD_ROWS = 2;

/** How many phrases are visible at once. */
export function overviewRows({ rows }: Size): number {
  return Math.max(1, rows - FRAME_ROWS);
}

/** The first visible phrase: the one at the cursor is in the middle if the list is longer than the screen. */
function firstSeen({ mode, ranges, size }: UiState): number {
  const phrase = mode.kind === 'overview' ? mode.phrase : 0;
  const rows = overviewRows(size);
  return Math.max(0, Math.min(ranges.length - rows, phrase - (rows >> 1)));
}

/** The phrase in a row of the screen, from 0; null for none. */
export function phraseOfRow(state: UiState, row: number): number | null {
  const at = row - HEAD_ROWS;
  const phrase = firstSeen(state) + at;
  return at >= 0 && at < overviewRows(state.size) && phrase < state.ranges.length ? phrase : null;
}

/** A list of all phrases: number, label, time, name, what to check, and how each begins. */
export function overviewLines(state: UiState, columns: number): Line[] {
  const { mode, ranges, edited, size } = state;
  if (mode.kind !== 'overview') return [];
  const { notes } = edited.take;
  const counts = marksByPhrase(ranges, marksOf(state));
  const first = firstSeen(state);
  const seen = ranges.slice(first, first + overviewRows(size));
  const numberWidth = String(ranges.length).length;
  const nameWidth = Math.min(20, Math.max(0, ...ranges.map(({ name }) => textColumns(name))));
  return seen.map((range, i) => {
    const at = first + i;
    const isHere = at === mode.phrase;
    const count = counts[at];
    const tab = notes
      .slice(range.first, range.last + 1)
      .map((note) => formatTabNote(note))
      .join(' ');
    const name = nameWidth === 0 ? '' : `${padText(range.name, nameWidth)} `;
    return cutLine(
      [
        span(
          `${isHere ? '▶' : ' '} ${String(at + 1).padStart(numberWidth)} ${padText(range.label, 3)}${clock(notes[range.first].onsetSec).padStart(5)} ${name}`,
          isHere ? { bold: true, inverse: true } : undefined,
        ),
        span(padText(count === 0 ? '' : ` ${count}?`, 5), { colour: 'magenta', bold: true }),
        span(tab, isHere ? { bold: true } : { dim: true }),
      ],
      columns,
    );
  });
}
