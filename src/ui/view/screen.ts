import { formatTabNote } from '../../tab/text.ts';
import { phraseAt } from '../state/phrases.ts';
import type { Size, UiState } from '../state/state.ts';
import { dialogView } from './dialogs.ts';
import { keysView, messageView, ruleView, timelineView, titleView } from './frame.ts';
import { HELP_LINES, helpRows } from './help.ts';
import { cutLine, type Line, plain } from './line.ts';
import { noteView } from './note.ts';
import { overviewLines, overviewRows } from './overview.ts';
import { pitchHeight, pitchView } from './pitch.ts';
import { fill, phraseHeight, tabHeight, tabView } from './tab.ts';

/** On smaller screens nothing useful can be shown. */
const SMALLEST: Size = { columns: 40, rows: 12 };
/** At least this many rows of pitch, names, level and time are shown; keys give way to them. */
const LEAST_PITCH_ROWS = 8;
/** Share of the room in which the phrases around the current one are shown. */
const AROUND_SHARE = 0.3;
/** A sentence may continue in a second row. */
const MOST_MESSAGE_ROWS = 2;
/** With at least this many rows there is room for a separating line. */
const ROOMY_ROWS = 30;
/** The largest share of the room for keys; all of them are in the help. */
const KEYS_SHARE = 0.25;
/** The largest share of the room for the current phrase. */
const TAB_SHARE = 0.4;

/** The parts of the screen from top to bottom, each a list of rows. */
export interface Parts {
  readonly title: readonly Line[];
  readonly tab: readonly Line[];
  readonly pitch: readonly Line[];
  readonly note: readonly Line[];
  readonly keys: readonly Line[];
}

/** All rows of the screen: one fewer than the terminal has, since it would scroll if full. */
export function screenParts(state: UiState): Parts {
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
  if (state.mode.kind === 'overview') {
    const heading = `${state.ranges.length} ${state.ranges.length === 1 ? 'phrase' : 'phrases'}, ${state.edited.take.notes.length} notes`;
    return {
      ...none,
      title: [titleView(state, columns), ruleView(heading, columns)],
      tab: fill(overviewLines(state, columns), overviewRows(size)),
      keys: keysView(state, columns).slice(0, 1),
    };
  }
  const rule = size.rows >= ROOMY_ROWS ? [ruleView('', columns)] : [];
  const title = [titleView(state, columns), timelineView(state, columns), ...rule];
  const message = messageView(state, columns).slice(0, MOST_MESSAGE_ROWS);
  const note = [...cut(noteView(state)), ...message];
  // Without the row of the heading.
  const rest = Math.max(0, height - title.length - note.length - 1);
  const phrase = Math.min(phraseHeight(state, columns), Math.max(1, Math.floor(rest * TAB_SHARE)));
  const dialog = dialogView(state, columns);
  const wanted = dialog?.length ?? pitchHeight(state, columns);
  const spare = rest - tabHeight(state, columns, rest) - wanted;
  const most = Math.min(rest - phrase - LEAST_PITCH_ROWS, Math.round(rest * KEYS_SHARE));
  const keys = keysView(state, columns, Math.max(1, most, spare));
  const room = Math.max(0, rest - keys.length);
  const tabLeast = tabHeight(state, columns, Math.max(phrase, Math.round(room * AROUND_SHARE)));
  const pitchRows = Math.min(wanted, Math.max(room - tabLeast, 0));
  const tabRows = tabHeight(state, columns, Math.max(tabLeast, room - pitchRows));
  return {
    title,
    tab: cut(tabView(state, columns, Math.min(tabRows, room - Math.min(pitchRows, room)))),
    pitch: [
      ruleView(pitchHead(state), columns),
      ...cut(dialog === null ? pitchView(state, columns, pitchRows) : fill(dialog, pitchRows)),
    ],
    note,
    // The keys are at the bottom.
    keys: fillAbove(keys, rest - Math.min(tabRows, room - pitchRows) - pitchRows),
  };
}

function fillAbove(lines: readonly Line[], height: number): Line[] {
  const spare = Math.max(0, height - lines.length);
  return [...Array.from({ length: spare }, (): Line => []), ...lines.slice(0, height)];
}

function pitchHead(state: UiState): string {
  const range = state.ranges[phraseAt(state.ranges, state.at)];
  const note = state.edited.take.notes[state.at];
  if (state.mode.kind !== 'notes' || range === undefined || note === undefined) return '';
  return `phrase ${phraseAt(state.ranges, state.at) + 1} of ${state.ranges.length}${range.label === '' ? '' : ` (${range.label})`}, ${formatTabNote(note)}`;
}

/** The same as one list. */
export function screenLines(state: UiState): Line[] {
  const { title, tab, pitch, note, keys } = screenParts(state);
  return [...title, ...tab, ...pitch, ...note, ...keys];
}
