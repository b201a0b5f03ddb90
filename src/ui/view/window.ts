import type { Note } from '../../tab/note.ts';
import type { ContourPoint } from '../state/ears.ts';
import { phraseAt } from '../state/phrases.ts';
import type { UiState } from '../state/state.ts';

/** Contours by note, as far as they were measured; `contourKey` names them. */
export type Contours = ReadonlyMap<string, readonly ContourPoint[]>;

export const contourKey = (note: Pick<Note, 'id' | 'onsetSec' | 'offsetSec' | 'midi'>): string =>
  `${note.id} ${note.onsetSec} ${note.offsetSec} ${note.midi}`;

/** Columns left of the picture, with the bar. */
export const LABEL_COLUMNS = 12;
/** No column stands for more than this: longer phrases are shown around the current note. */
const COARSEST_SEC = 0.08;
const MARGIN_SEC = 0.1;

/** The part of the take that is drawn. */
export interface Window {
  readonly fromSec: number;
  readonly toSec: number;
  readonly columns: number;
}

/** Notes of the current phrase, and the time that fits. */
export function windowOf(state: UiState, columns: number): { window: Window; notes: readonly Note[] } {
  const { notes } = state.edited.take;
  const range = state.ranges[phraseAt(state.ranges, state.at)];
  const drawn = Math.max(1, columns - LABEL_COLUMNS);
  let fromSec = notes[range.first].onsetSec - MARGIN_SEC;
  let toSec = notes[range.last].offsetSec + MARGIN_SEC;
  const most = drawn * COARSEST_SEC;
  if (toSec - fromSec > most) {
    const { onsetSec, offsetSec } = notes[state.at];
    const centred = (onsetSec + offsetSec) / 2 - most / 2;
    fromSec = Math.max(fromSec, Math.min(centred, toSec - most));
    toSec = fromSec + most;
  }
  const within = notes
    .slice(range.first, range.last + 1)
    .filter((note) => note.offsetSec > fromSec && note.onsetSec < toSec);
  return { window: { fromSec, toSec, columns: drawn }, notes: within };
}

/** First column of a note, and the one after its last. */
export function columnsOf(window: Window, note: Pick<Note, 'onsetSec' | 'offsetSec'>): [number, number] {
  const scale = window.columns / (window.toSec - window.fromSec);
  const from = Math.round((note.onsetSec - window.fromSec) * scale);
  const to = Math.max(from + 1, Math.round((note.offsetSec - window.fromSec) * scale));
  return [Math.max(0, Math.min(window.columns - 1, from)), Math.min(window.columns, to)];
}
