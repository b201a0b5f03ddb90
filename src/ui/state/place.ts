import { leftOutMarks } from './left-out.ts';
import { type Mark, marksOf } from './marks.ts';
import type { UiState } from './state.ts';

/** The mark that the cursor was sent to, if it is still there; null otherwise. */
export function markHere(state: UiState): Mark | null {
  if (state.mark === null) return null;
  const isHere = ({ key }: Mark) => key === state.mark;
  return marksOf(state).find(isHere) ?? leftOutMarks(state).find(isHere) ?? null;
}

/** First and last note of the range, or the current note twice. */
export function selected({ anchor, at }: UiState): readonly [first: number, last: number] {
  const other = anchor ?? at;
  return [Math.min(at, other), Math.max(at, other)];
}

/** The sound without a note that the cursor is on, left out or missed; null if it is on a note. */
export function bareFocus(state: UiState): Mark | null {
  const mark = markHere(state);
  return mark?.kind === 'bare' || mark?.kind === 'left-out' ? mark : null;
}
