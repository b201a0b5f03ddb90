import type { UiState } from '../state/state.ts';
import { dialogView } from './dialogs.ts';
import { messageView, titleView } from './frame.ts';
import { HELP_LINES } from './help.ts';
import type { Line } from './line.ts';
import { noteView } from './note.ts';
import { overviewLines } from './overview.ts';
import { phraseHeight, tabView } from './tab.ts';

/** Output for a terminal that can only print lines: the phrase, the note, and what needs checking. */
export function plainLines(state: UiState): Line[] {
  const { columns } = state.size;
  if (state.mode.kind === 'help') return [...HELP_LINES];
  if (state.mode.kind === 'overview') return [titleView(state, columns), ...overviewLines(state, columns)];
  return [
    titleView(state, columns),
    ...tabView(state, columns, phraseHeight(state, columns)),
    ...(dialogView(state, columns) ?? noteView(state)),
    ...messageView(state, columns).filter((line) => line.length > 0),
  ];
}
