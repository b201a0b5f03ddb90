import { isDoubtful, isFaulty } from '../../tab/remarks.ts';
import { formatTabNote } from '../../tab/text.ts';
import { wordsUnder } from '../../take/words.ts';
import { layTyped } from '../commands/words.ts';
import { phraseAt, type Range } from '../state/phrases.ts';
import type { UiState } from '../state/state.ts';
import { type Line, padText, type Span, type Style, span, widthOf } from './line.ts';
import { clock } from './time.ts';

/** Columns before the tab: label of the phrase and its time. */
const LEAD_COLUMNS = 9;

/** One row of tab with the words under it. */
interface Row {
  readonly lines: readonly Line[];
  readonly holdsCurrent: boolean;
}

/** What is under the notes, with the line that is being typed in place of what was there. */
function wordsShown(state: UiState): ReadonlyMap<string, string> {
  const { take } = state.edited;
  if (state.mode.kind !== 'words') return wordsUnder(take, state.verse);
  const { syllables, ids } = layTyped(state);
  const mine = new Set(ids);
  const others = take.words.filter(({ verse, noteId }) => verse !== state.verse || !mine.has(noteId ?? ''));
  return wordsUnder({ notes: take.notes, words: [...others, ...syllables] }, state.verse);
}

function cellStyle(state: UiState, i: number): Style | undefined {
  if (i === state.at) return { inverse: true, bold: true };
  const note = state.edited.take.notes[i];
  if (isDoubtful(note)) return { colour: 'magenta', bold: true };
  return isFaulty(note) ? { colour: 'red' } : undefined;
}

/** Tab with `?` for doubt or `!` for a fault; how well in tune a doubtful note is depends on what it turns out to be. */
function cellText(state: UiState, i: number): string {
  const note = state.edited.take.notes[i];
  return `${formatTabNote(note)}${isDoubtful(note) ? '?' : isFaulty(note) ? '!' : ''}`;
}

/** The rows of one phrase, wrapped to the width. */
function phraseRows(
  state: UiState,
  range: Range,
  under: ReadonlyMap<string, string>,
  columns: number,
): Row[] {
  const { notes } = state.edited.take;
  const hasWords = notes.slice(range.first, range.last + 1).some(({ id }) => under.has(id));
  const rows: Row[] = [];
  let tab: Span[] = [];
  let words: Span[] = [];
  let width = 0;
  let current = false;
  const lead = () =>
    rows.length === 0
      ? `${padText(range.label, 3)}${clock(notes[range.first].onsetSec).padStart(5)} `
      : ' '.repeat(LEAD_COLUMNS);
  const finish = () => {
    const lines: Line[] = [[span(lead(), { dim: true }), ...tab]];
    if (hasWords) lines.push([span(' '.repeat(LEAD_COLUMNS)), ...words]);
    rows.push({ lines, holdsCurrent: current });
    tab = [];
    words = [];
    width = 0;
    current = false;
  };
  for (let i = range.first; i <= range.last; i++) {
    const text = cellText(state, i);
    const word = under.get(notes[i].id) ?? '';
    const inner = Math.max(widthOf(text), widthOf(word));
    if (width > 0 && LEAD_COLUMNS + width + inner + 2 > columns) finish();
    const room = Math.min(inner, Math.max(1, columns - LEAD_COLUMNS - 2));
    const here = i === state.at;
    const body = here ? `[${text}]` : ` ${text} `;
    tab.push(span(body, cellStyle(state, i)), span(' '.repeat(Math.max(0, room - widthOf(text)))));
    words.push(span(` ${padText(word, room)} `, here ? { bold: true } : undefined));
    width += room + 2;
    current ||= here;
  }
  finish();
  return rows;
}

/** The tab around the current note, in exactly `height` rows. */
export function tabView(state: UiState, columns: number, height: number): Line[] {
  const { ranges } = state;
  if (ranges.length === 0) return fill([[span('no notes')]], height);
  const under = wordsShown(state);
  const middle = phraseAt(ranges, state.at);
  const rows = phraseRows(state, ranges[middle], under, columns);
  const current = Math.max(
    0,
    rows.findIndex(({ holdsCurrent }) => holdsCurrent),
  );
  const above = rows.slice(0, current).flatMap(({ lines }) => lines);
  const below = rows.slice(current + 1).flatMap(({ lines }) => lines);
  const here = rows[current].lines;
  // A third of the room for what came before, the rest for what comes.
  const roomAbove = Math.max(0, Math.floor((height - here.length) / 3));
  for (let p = middle - 1; p >= 0 && above.length < height; p--) {
    above.unshift(...phraseRows(state, ranges[p], under, columns).flatMap(({ lines }) => lines));
  }
  for (let p = middle + 1; p < ranges.length && below.length < height; p++) {
    below.push(...phraseRows(state, ranges[p], under, columns).flatMap(({ lines }) => lines));
  }
  const after = Math.min(below.length, height - here.length - Math.min(roomAbove, above.length));
  const before = Math.min(above.length, Math.max(0, height - here.length - after));
  return fill(
    [...above.slice(above.length - before), ...here, ...below.slice(0, Math.max(0, after))],
    height,
  );
}

/** Rows that the tab of the whole take needs, counted up to `most`. */
export function tabHeight(state: UiState, columns: number, most: number): number {
  const under = wordsShown(state);
  let rows = 0;
  for (const range of state.ranges) {
    for (const { lines } of phraseRows(state, range, under, columns)) rows += lines.length;
    if (rows >= most) return most;
  }
  return Math.max(1, rows);
}

/** Cut or filled up with empty rows. */
export function fill(lines: readonly Line[], height: number): Line[] {
  const rows = lines.slice(0, Math.max(0, height));
  while (rows.length < height) rows.push([]);
  return rows;
}
