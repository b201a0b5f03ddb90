import { type Mark, marksOf } from './marks.ts';
import type { UiState } from './state.ts';

/** The mark that was gone to, as long as the cursor is there; null when it is nowhere in particular. */
export function markHere(state: UiState): Mark | null {
  if (state.mark === null) return null;
  return marksOf(state).find(({ key }) => key === state.mark) ?? null;
}

/** First and last note of the range, or the current note twice. */
export function selected({ anchor, at }: UiState): readonly [first: number, last: number] {
  const other = anchor ?? at;
  return [Math.min(at, other), Math.max(at, other)];
}

/** The sound without a note that the cursor is on; null when it is on a note. */
export function bareFocus(state: UiState): Mark | null {
  const mark = markHere(state);
  return mark?.kind === 'bare' ? mark : null;
}
