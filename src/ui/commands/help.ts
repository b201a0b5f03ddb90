import type { Step, UiState } from '../state/state.ts';
import { HELP_LINES, helpRows } from '../view/help.ts';
import { still } from './act.ts';

/** What a key does while the help is shown. */
export function helpKey(state: UiState, key: string, command: string | undefined): Step {
  if (command === 'back') return still({ ...state, mode: { kind: 'notes' } });
  if (command !== 'scroll' || state.mode.kind !== 'help') return still(state);
  const page = Math.max(1, helpRows(state.size) - 1);
  return still(withHelpTop(state, { up: -1, down: 1, pageup: -page }[key] ?? page));
}

/** The help scrolled by some rows, within its ends. */
export function withHelpTop(state: UiState, by: number): UiState {
  if (state.mode.kind !== 'help') return state;
  const last = Math.max(0, HELP_LINES.length - helpRows(state.size));
  return { ...state, mode: { kind: 'help', top: Math.max(0, Math.min(last, state.mode.top + by)), last } };
}
