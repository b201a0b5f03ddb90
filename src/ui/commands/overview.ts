import { CLICKED } from '../input.ts';
import { marksOf } from '../state/marks.ts';
import { marksByPhrase, phraseAt } from '../state/phrases.ts';
import type { Step, UiState } from '../state/state.ts';
import { overviewRows, phraseOfRow } from '../view/overview.ts';
import { type CommandContext, moveTo, still } from './act.ts';

/** Opens the list of all phrases. */
export function openOverview(state: UiState): UiState {
  return {
    ...state,
    message: null,
    offer: null,
    mode: { kind: 'overview', phrase: phraseAt(state.ranges, state.at) },
  };
}

/** What a key does in the list. */
export function overviewKey({ state, key }: CommandContext, command: string | undefined): Step {
  if (state.mode.kind !== 'overview') return still(state);
  const { phrase } = state.mode;
  const last = state.ranges.length - 1;
  const to = (wanted: number): Step =>
    still({ ...state, mode: { kind: 'overview', phrase: Math.max(0, Math.min(last, wanted)) } });
  if (key.startsWith(CLICKED)) {
    const clicked = phraseOfRow(state, Number(key.slice(CLICKED.length).split(',')[1]));
    return clicked === null ? still(state) : go(state, clicked);
  }
  switch (command) {
    case 'overview-move': {
      const page = overviewRows(state.size);
      const by: Readonly<Record<string, number>> = { up: -1, 'wheel-up': -1, pageup: -page, pagedown: page };
      if (key === 'home') return to(0);
      return key === 'end' ? to(last) : to(phrase + (by[key] ?? 1));
    }
    case 'overview-mark':
      return to(nextMarked(state, phrase, key === 'shift-tab'));
    case 'overview-go':
      return go(state, phrase);
    case 'back':
      return still({ ...state, mode: { kind: 'notes' } });
    default:
      return still(state);
  }
}

function go(state: UiState, phrase: number): Step {
  return still({ ...moveTo(state, state.ranges[phrase].first), anchor: null, mode: { kind: 'notes' } });
}

/** The next phrase with something to check, wrapping round; the same one if there is no other. */
function nextMarked(state: UiState, from: number, backwards: boolean): number {
  const counts = marksByPhrase(state.ranges, marksOf(state));
  const count = counts.length;
  for (let step = 1; step < count; step++) {
    const at = (from + (backwards ? count - step : step)) % count;
    if (counts[at] > 0) return at;
  }
  return from;
}
