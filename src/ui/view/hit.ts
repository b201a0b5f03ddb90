import { bareFocus } from '../state/place.ts';
import type { UiState } from '../state/state.ts';
import { timelineBounds } from './frame.ts';
import { screenParts } from './screen.ts';
import { tabHit } from './tab.ts';
import { LABEL_COLUMNS, windowOf } from './window.ts';

/** The note at a place on the screen, with columns and rows from 0; null for none. */
export function noteUnder(state: UiState, column: number, row: number): number | null {
  const { title, tab, pitch } = screenParts(state);
  const { notes, source } = state.edited.take;
  if (row === 1) {
    const { from, width } = timelineBounds(state, state.size.columns);
    return nearestTo(state, ((column - from + 0.5) / width) * source.durationSec);
  }
  const inTab = row - title.length;
  if (inTab >= 0 && inTab < tab.length) return tabHit(state, state.size.columns, tab.length, inTab, column);
  const inPitch = inTab - tab.length - 1;
  if (inPitch < 0 || inPitch >= pitch.length - 1 || column < LABEL_COLUMNS || notes.length === 0) return null;
  const { window } = windowOf(state, state.size.columns, bareFocus(state)?.sec ?? null);
  const share = (column - LABEL_COLUMNS + 0.5) / window.columns;
  return nearestTo(state, window.fromSec + share * (window.toSec - window.fromSec));
}

/** The note that sounds at a time, or the nearest one. */
function nearestTo({ edited }: UiState, sec: number): number | null {
  const { notes } = edited.take;
  if (notes.length === 0) return null;
  const away = (at: number) => Math.max(notes[at].onsetSec - sec, sec - notes[at].offsetSec, 0);
  let best = 0;
  for (let at = 1; at < notes.length; at++) if (away(at) < away(best)) best = at;
  return best;
}
