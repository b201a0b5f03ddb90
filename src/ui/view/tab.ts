import { faultsOf } from '../../tab/remarks.ts';
import type { TabNote } from '../../tab/tab-note.ts';
import { formatPlayedNote, formatTabNote } from '../../tab/text.ts';
import { wordsUnder } from '../../take/words.ts';
import { textColumns } from '../../text/width.ts';
import { contradicts } from '../state/against-sound.ts';
import { nearest } from '../state/doubt.ts';
import { reasonWord } from '../state/left-out.ts';
import { type Mark, marksOf } from '../state/marks.ts';
import { phraseAt, type Range } from '../state/phrases.ts';
import { bareFocus, selected } from '../state/place.ts';
import type { UiState } from '../state/state.ts';
import { alignTyped } from '../state/typed-words.ts';
import { type Line, padText, type Span, type Style, span, wrapText } from './line.ts';
import { clock } from './time.ts';

/** Columns before the tab: label of the phrase and its time. */
const LEAD_COLUMNS = 9;

const HERE: Style = { inverse: true, bold: true };

/** One row of tab with the words under it. */
interface Row {
  readonly lines: readonly Line[];
  readonly holdsCurrent: boolean;
  readonly hits: readonly Hit[];
}

/** Columns [from, to) of a note. */
interface Hit {
  readonly from: number;
  readonly to: number;
  readonly at: number;
}

/** The words under the notes, including the line that is being typed. */
function wordsShown(state: UiState): ReadonlyMap<string, string> {
  const { take } = state.edited;
  if (state.mode.kind !== 'words') return wordsUnder(take, state.verse);
  const { syllables, ids } = alignTyped(state);
  const mine = new Set(ids);
  const others = take.words.filter(({ verse, noteId }) => verse !== state.verse || !mine.has(noteId ?? ''));
  return wordsUnder({ notes: take.notes, words: [...others, ...syllables] }, state.verse);
}

/** One cell of the tab: a note, or a sound without one. */
interface Cell {
  readonly text: string;
  readonly word: string;
  readonly style: Style | undefined;
  readonly isHere: boolean;
  /** Whether it is in the marked range. */
  readonly isMarked: boolean;
  /** Position of the note, or of the one before. */
  readonly at: number;
}

/** What the whole tab needs, looked up once for each picture. */
interface Scene {
  readonly state: UiState;
  readonly under: ReadonlyMap<string, string>;
  /** Marks by the position of the note. */
  readonly marks: ReadonlyMap<number, Mark>;
  /** Sounds without a note, by the position of the note before. */
  readonly bare: ReadonlyMap<number, readonly Mark[]>;
  readonly bareHere: Mark | null;
  /** What the notes of an offer would become. */
  readonly offered: ReadonlyMap<string, TabNote>;
}

/** Kept because several parts of a picture need it. */
const scenes = new WeakMap<UiState, Scene>();

function sceneOf(state: UiState): Scene {
  const known = scenes.get(state) ?? lookUp(state);
  scenes.set(state, known);
  return known;
}

function lookUp(state: UiState): Scene {
  const marks = new Map<number, Mark>();
  const bare = new Map<number, Mark[]>();
  const bareHere = bareFocus(state);
  // A sound that was left out is only shown in the tab while the cursor is on it.
  if (bareHere?.kind === 'left-out') bare.set(bareHere.at, [bareHere]);
  for (const mark of marksOf(state)) {
    if (mark.kind === 'bare') bare.set(mark.at, [...(bare.get(mark.at) ?? []), mark]);
    else if (mark.kind !== 'harp') marks.set(mark.at, mark);
  }
  return {
    state,
    under: wordsShown(state),
    marks,
    bare,
    bareHere,
    offered: new Map(state.offer?.isShown ? state.offer.readings : []),
  };
}

/** The sign after a note: `≠` another pitch sounds, `?` to check, `♭` `♯` out of tune, `!` another hole leaks. */
function signOf({ state, marks }: Scene, i: number): { sign: string; style: Style | undefined } {
  const note = state.edited.take.notes[i];
  if (contradicts(state, note)) return { sign: '≠', style: { colour: 'red', bold: true } };
  if (marks.has(i)) return { sign: '?', style: { colour: 'magenta', bold: true } };
  const sign = faultsOf(note)
    .map((fault) => (fault.startsWith('flat') ? '♭' : fault.startsWith('sharp') ? '♯' : '!'))
    .join('');
  return { sign, style: sign === '' ? undefined : { colour: 'red' } };
}

function noteCell(scene: Scene, i: number): Cell {
  const { state, under, bareHere, offered } = scene;
  const note = state.edited.take.notes[i];
  const { sign, style } = signOf(scene, i);
  const as = offered.get(note.id);
  return {
    text: as === undefined ? formatPlayedNote(note) + sign : `${formatTabNote(note)}→${formatTabNote(as)}`,
    word: under.get(note.id) ?? '',
    style,
    isHere: i === state.at && bareHere === null,
    isMarked: state.anchor !== null && i >= selected(state)[0] && i <= selected(state)[1],
    at: i,
  };
}

function bareCell({ state, bareHere }: Scene, mark: Mark): Cell {
  const name = mark.sound === null ? '' : formatTabNote(nearest(state.playable, mark.sound.f0Hz)[0]);
  return {
    text: mark.why === undefined ? `(${name}?)` : `(${name} ${reasonWord(mark.why)})`,
    word: '',
    style: { colour: 'magenta', bold: true },
    isHere: mark === bareHere,
    isMarked: false,
    at: mark.at,
  };
}

function cellsOf(scene: Scene, first: number, last: number): Cell[] {
  const cells: Cell[] = [];
  const addBare = (i: number) => {
    for (const mark of scene.bare.get(i) ?? []) cells.push(bareCell(scene, mark));
  };
  if (first === 0) addBare(-1);
  for (let i = first; i <= last; i++) {
    cells.push(noteCell(scene, i));
    addBare(i);
  }
  return cells;
}

/** The rows of one phrase, wrapped to the width. */
function phraseRows(scene: Scene, { first, last, label, name, advice }: Range, columns: number): Row[] {
  const cells = cellsOf(scene, first, last);
  const hasWords = cells.some(({ word }) => word !== '');
  const { notes } = scene.state.edited.take;
  const rows: Row[] = [];
  let tab: Span[] = [];
  let words: Span[] = [];
  let width = 0;
  let current = false;
  let hits: Hit[] = [];
  const lead = () =>
    rows.length === 0
      ? `${padText(label, 3)}${clock(notes[first]?.onsetSec ?? 0).padStart(5)} `
      : ' '.repeat(LEAD_COLUMNS);
  const finish = () => {
    const lines: Line[] = [[span(lead(), { dim: true }), ...tab]];
    if (rows.length === 0 && name !== '') lines.unshift([span(name, { bold: true })]);
    // What the teacher says about the whole take is above it.
    if (rows.length === 0 && first === 0)
      lines.unshift(...quoted(scene.state.edited.take.advice ?? '', columns));
    // The verse is always shown: another may be under the same notes.
    if (hasWords) {
      const verse = padText(` verse ${scene.state.verse}`, LEAD_COLUMNS);
      lines.push([span(verse, { dim: true }), ...words]);
    }
    rows.push({ lines, holdsCurrent: current, hits });
    hits = [];
    tab = [];
    words = [];
    width = 0;
    current = false;
  };
  for (const { text, word, style, isHere, isMarked, at } of cells) {
    const inner = Math.max(textColumns(text), textColumns(word));
    if (width > 0 && LEAD_COLUMNS + width + inner + 2 > columns) finish();
    const room = Math.min(inner, Math.max(1, columns - LEAD_COLUMNS - 2));
    tab.push(
      span(isHere ? `[${text}]` : isMarked ? `*${text}*` : ` ${text} `, isHere || isMarked ? HERE : style),
      span(' '.repeat(Math.max(0, room - textColumns(text)))),
    );
    words.push(span(` ${padText(word, room)} `, isHere ? { bold: true } : undefined));
    hits.push({ from: LEAD_COLUMNS + width, to: LEAD_COLUMNS + width + room + 2, at });
    width += room + 2;
    current ||= isHere;
  }
  finish();
  const end = rows[rows.length - 1];
  rows[rows.length - 1] = { ...end, lines: [...end.lines, ...quoted(advice, columns)] };
  return rows;
}

/** What the teacher says, in as many rows as it needs. */
function quoted(advice: string, columns: number): Line[] {
  const rows = advice === '' ? [] : wrapText(`“${advice}”`, columns - LEAD_COLUMNS);
  return rows.map((row): Line => [span(' '.repeat(LEAD_COLUMNS)), span(row, { dim: true })]);
}

/** The tab around the current note, in exactly `height` rows. */
export function tabView(state: UiState, columns: number, height: number): Line[] {
  return fill(
    rowsAround(state, columns, height).map(({ line }) => line),
    height,
  );
}

/** The note at a place in the tab, counted from its first column and row; null for none. */
export function tabHit(
  state: UiState,
  columns: number,
  height: number,
  row: number,
  column: number,
): number | null {
  const hits = rowsAround(state, columns, height)[row]?.hits ?? [];
  return hits.find(({ from, to }) => from <= column && column < to)?.at ?? null;
}

interface DrawnRow {
  readonly line: Line;
  readonly hits: readonly Hit[];
}

const drawn = ({ lines, hits }: Row): DrawnRow[] => lines.map((line) => ({ line, hits }));

function rowsAround(state: UiState, columns: number, height: number): DrawnRow[] {
  const { ranges } = state;
  const scene = sceneOf(state);
  if (ranges.length === 0) {
    const rows = phraseRows(scene, { first: 0, last: -1, label: '', name: '', advice: '' }, columns);
    return [{ line: [span('no notes')], hits: [] }, ...rows.flatMap(drawn)];
  }
  const middle = phraseAt(ranges, state.at);
  const rows = phraseRows(scene, ranges[middle], columns);
  const current = Math.max(
    0,
    rows.findIndex(({ holdsCurrent }) => holdsCurrent),
  );
  const above = rows.slice(0, current).flatMap(drawn);
  const below = rows.slice(current + 1).flatMap(drawn);
  const here = drawn(rows[current]);
  // A third of the room for what comes before, the rest for what follows.
  const roomAbove = Math.max(0, Math.floor((height - here.length) / 3));
  for (let p = middle - 1; p >= 0 && above.length < height; p--) {
    above.unshift(...phraseRows(scene, ranges[p], columns).flatMap(drawn));
  }
  for (let p = middle + 1; p < ranges.length && below.length < height; p++) {
    below.push(...phraseRows(scene, ranges[p], columns).flatMap(drawn));
  }
  const after = Math.min(below.length, height - here.length - Math.min(roomAbove, above.length));
  const before = Math.min(above.length, Math.max(0, height - here.length - after));
  return [...above.slice(above.length - before), ...here, ...below.slice(0, Math.max(0, after))];
}

/** Rows of the current phrase, with its words. */
export function phraseHeight(state: UiState, columns: number): number {
  const range = state.ranges[phraseAt(state.ranges, state.at)];
  if (range === undefined) return 1;
  return phraseRows(sceneOf(state), range, columns).reduce((sum, { lines }) => sum + lines.length, 0);
}

/** Rows that the tab of the whole take needs, counted up to `most`. */
export function tabHeight(state: UiState, columns: number, most: number): number {
  const scene = sceneOf(state);
  let rows = 0;
  for (const range of state.ranges) {
    for (const { lines } of phraseRows(scene, range, columns)) rows += lines.length;
    if (rows >= most) return most;
  }
  return Math.max(1, rows);
}

/** Lines cut to a height, or filled up with empty ones. */
export function fill(lines: readonly Line[], height: number): Line[] {
  const rows = lines.slice(0, Math.max(0, height));
  while (rows.length < height) rows.push([]);
  return rows;
}
