import { formatTabNote } from '../../tab/text.ts';
import { phraseAt } from '../state/phrases.ts';
import type { Size, UiState } from '../state/state.ts';
import { dialogView } from './dialogs.ts';
import { keysView, messageView, ruleView, timelineView, titleView } from './frame.ts';
import { HELP_LINES, helpRows } from './help.ts';
import { cutLine, type Line, plain } from './line.ts';
import { noteView } from './note.ts';
import { pitchView } from './pitch.ts';
import { fill, tabHeight, tabView } from './tab.ts';
import type { Contours } from './window.ts';

/** Smaller than this nothing useful can be shown. */
const SMALLEST: Size = { columns: 40, rows: 12 };
/** So many rows of tab are shown however few there are; keys give way to them. */
const LEAST_TAB_ROWS = 3;
/** From so many rows on there is room for a line that only parts. */
const ROOMY_ROWS = 30;
/** Share of the room that the tab has; the picture of the pitch has the rest. */
const TAB_SHARE = 0.4;

/** The parts of the screen from top to bottom, each a list of rows. */
export interface Parts {
  readonly title: readonly Line[];
  readonly tab: readonly Line[];
  readonly pitch: readonly Line[];
  readonly note: readonly Line[];
  readonly keys: readonly Line[];
}

/** All rows of the screen: one fewer than the terminal has, since a full terminal would scroll. */
export function screenParts(state: UiState, contours: Contours): Parts {
  const { size } = state;
  const { columns } = size;
  const height = size.rows - 1;
  const none: Parts = { title: [], tab: [], pitch: [], note: [], keys: [] };
  if (columns < SMALLEST.columns || size.rows < SMALLEST.rows) {
    return {
      ...none,
      title: fill(
        [
          cutLine(
            plain(`too small: ${SMALLEST.columns} columns and ${SMALLEST.rows} rows are needed`),
            columns,
          ),
        ],
        height,
      ),
    };
  }
  const cut = (lines: readonly Line[]): Line[] => lines.map((line) => cutLine(line, columns));
  if (state.mode.kind === 'help') {
    const keys = keysView(state, columns);
    return {
      ...none,
      title: [titleView(state, columns), []],
      tab: fill(cut(HELP_LINES.slice(state.mode.top)), helpRows(size)),
      keys: keys.slice(0, 1),
    };
  }
  const rule = size.rows >= ROOMY_ROWS ? [ruleView('', columns)] : [];
  const title = [titleView(state, columns), timelineView(state, columns), ...rule];
  const note = [...cut(noteView(state)), messageView(state, columns)];
  // Without the row of the heading.
  const rest = height - title.length - note.length - 1;
  const keys = keysView(state, columns, Math.max(1, rest - LEAST_TAB_ROWS));
  const room = Math.max(0, rest - keys.length);
  const most = Math.max(Math.min(LEAST_TAB_ROWS, room), Math.round(TAB_SHARE * room));
  const tabRows = tabHeight(state, columns, most);
  const pitchRows = room - tabRows;
  const pitch = dialogView(state, columns, pitchRows) ?? pitchView(state, contours, columns, pitchRows);
  return {
    title,
    tab: cut(tabView(state, columns, tabRows)),
    pitch: [ruleView(pitchHead(state), columns), ...cut(pitch)],
    note,
    keys: fill(keys, rest - room),
  };
}

function pitchHead(state: UiState): string {
  const range = state.ranges[phraseAt(state.ranges, state.at)];
  const note = state.edited.take.notes[state.at];
  if (state.mode.kind !== 'notes' || range === undefined || note === undefined) return '';
  return `phrase ${phraseAt(state.ranges, state.at) + 1} of ${state.ranges.length}${range.label === '' ? '' : ` (${range.label})`}, ${formatTabNote(note)}`;
}

/** The same as one list. */
export function screenLines(state: UiState, contours: Contours): Line[] {
  const { title, tab, pitch, note, keys } = screenParts(state, contours);
  return [...title, ...tab, ...pitch, ...note, ...keys];
}
