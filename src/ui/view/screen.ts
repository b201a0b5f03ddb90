import { formatTabNote } from '../../tab/text.ts';
import { cutLine, type Line, plain } from '../line.ts';
import { phraseAt } from '../phrases.ts';
import type { UiState } from '../state.ts';
import { dialogView, helpView } from './dialogs.ts';
import { keysView, messageView, ruleView, timelineView, titleView } from './frame.ts';
import { noteView } from './note.ts';
import { pitchView } from './pitch.ts';
import { fill, tabHeight, tabView } from './tab.ts';
import type { Contours } from './window.ts';

/** Size of the terminal in columns and rows. */
export interface Size {
  readonly columns: number;
  readonly rows: number;
}

/** Smaller than this nothing useful can be shown. */
const SMALLEST: Size = { columns: 40, rows: 12 };
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
export function screenParts(state: UiState, contours: Contours, size: Size): Parts {
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
  const keys = keysView(state, columns);
  if (state.mode.kind === 'help') {
    return {
      ...none,
      title: [titleView(state, columns), []],
      tab: helpView(state.mode.top, columns, height - 2 - keys.length),
      keys,
    };
  }
  const rule = size.rows >= ROOMY_ROWS ? [ruleView('', columns)] : [];
  const title = [titleView(state, columns), timelineView(state, columns), ...rule];
  const note = [...cut(noteView(state)), messageView(state, columns)];
  const room = Math.max(0, height - title.length - note.length - keys.length - 1);
  const most = Math.max(Math.min(3, room), Math.round(TAB_SHARE * room));
  const tabRows = tabHeight(state, columns, most);
  const pitchRows = room - tabRows;
  const pitch = dialogView(state, columns, pitchRows) ?? pitchView(state, contours, columns, pitchRows);
  return {
    title,
    tab: cut(tabView(state, columns, tabRows)),
    pitch: [ruleView(pitchHead(state), columns), ...cut(pitch)],
    note,
    keys: fill(keys, height - title.length - 1 - room - note.length),
  };
}

function pitchHead(state: UiState): string {
  const range = state.ranges[phraseAt(state.ranges, state.at)];
  const note = state.edited.take.notes[state.at];
  if (state.mode.kind !== 'notes' || range === undefined || note === undefined) return '';
  return `phrase ${phraseAt(state.ranges, state.at) + 1} of ${state.ranges.length}${range.label === '' ? '' : ` (${range.label})`}, ${formatTabNote(note)}`;
}

/** The same as one list. */
export function screenLines(state: UiState, contours: Contours, size: Size): Line[] {
  const { title, tab, pitch, note, keys } = screenParts(state, contours, size);
  return [...title, ...tab, ...pitch, ...note, ...keys];
}
