import type { Note } from '../../tab/note.ts';
import type { PitchTrack } from '../state/hearing.ts';
import { phraseAt } from '../state/phrases.ts';
import type { UiState } from '../state/state.ts';

/** Columns left of the picture, including the bar. */
export const LABEL_COLUMNS = 12;
/** No column covers more time than this; longer phrases are shown around the current note. */
const COARSEST_SEC = 0.08;
/** Time shown around a phrase, up to the next one, so that missed notes are visible too. */
const MARGIN_SEC = 0.6;

/** The part of the take that is drawn. */
export interface Window {
  readonly fromSec: number;
  readonly toSec: number;
  readonly columns: number;
}

/** Width of the picture on a screen of this many columns. */
export const drawnColumns = (columns: number): number => Math.max(1, columns - LABEL_COLUMNS);

/** The time of the current phrase, as far as it fits, and the visible notes. */
export function windowOf(
  state: UiState,
  columns: number,
  focusSec: number | null = null,
): { window: Window; notes: readonly Note[] } {
  const { notes, source } = state.edited.take;
  const drawn = drawnColumns(columns);
  const range = state.ranges[phraseAt(state.ranges, state.at)];
  let fromSec = 0;
  let toSec = source.durationSec;
  if (range !== undefined) {
    const [first, last] = [notes[range.first], notes[range.last]];
    const before = notes[range.first - 1]?.offsetSec ?? 0;
    const after = notes[range.last + 1]?.onsetSec ?? source.durationSec;
    fromSec = Math.max(first.onsetSec - MARGIN_SEC, Math.min(before, first.onsetSec - 0.1));
    toSec = Math.min(last.offsetSec + MARGIN_SEC, Math.max(after, last.offsetSec + 0.1));
  }
  if (focusSec !== null) {
    fromSec = Math.min(fromSec, focusSec - MARGIN_SEC);
    toSec = Math.max(toSec, focusSec + MARGIN_SEC);
  }
  const most = drawn * COARSEST_SEC;
  if (toSec - fromSec > most) {
    const { onsetSec, offsetSec } = notes[state.at] ?? { onsetSec: 0, offsetSec: most };
    const middle = focusSec ?? (onsetSec + offsetSec) / 2;
    fromSec = Math.max(fromSec, Math.min(middle - most / 2, toSec - most));
    toSec = fromSec + most;
  }
  return { window: { fromSec, toSec, columns: drawn }, notes: notesWithin(notes, fromSec, toSec) };
}

function notesWithin(notes: readonly Note[], fromSec: number, toSec: number): readonly Note[] {
  let first = 0;
  let end = notes.length;
  while (first < end) {
    const middle = (first + end) >> 1;
    if (notes[middle].offsetSec > fromSec) end = middle;
    else first = middle + 1;
  }
  let last = first;
  while (last < notes.length && notes[last].onsetSec < toSec) last++;
  return notes.slice(first, last);
}

/** First column of a stretch, and the one after its last. */
export function columnsOf(window: Window, note: Pick<Note, 'onsetSec' | 'offsetSec'>): [number, number] {
  const scale = window.columns / (window.toSec - window.fromSec);
  const from = Math.round((note.onsetSec - window.fromSec) * scale);
  const to = Math.max(from + 1, Math.round((note.offsetSec - window.fromSec) * scale));
  return [Math.max(0, Math.min(window.columns - 1, from)), Math.max(0, Math.min(window.columns, to))];
}

/** Frames of a track within a window: [from, to). */
export function framesOf({ midi, stepSec }: PitchTrack, { fromSec, toSec }: Window): [number, number] {
  const from = Math.max(0, Math.ceil(fromSec / stepSec));
  return [from, Math.max(from, Math.min(midi.length, Math.ceil(toSec / stepSec)))];
}
