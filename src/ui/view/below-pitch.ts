import type { Note } from '../../tab/note.ts';
import { formatTabNote } from '../../tab/text.ts';
import { textColumns } from '../../text/width.ts';
import { reasonWord } from '../state/left-out.ts';
import type { Mark } from '../state/marks.ts';
import type { UiState } from '../state/state.ts';
import { type Line, padText, type Span, span } from './line.ts';
import { clock } from './time.ts';
import { columnsOf, framesOf, LABEL_COLUMNS, type Window } from './window.ts';

const BARS = '▁▂▃▄▅▆▇█';
/** Levels this far or further below the loudest one visible get the lowest bar, in dB. */
const LEVEL_RANGE_DB = 30;

const head = (label: string): Span[] => [span(padText(label, LABEL_COLUMNS - 1)), span('│')];

/** The names of notes at their times; `bare` are sounds without a note: missed, or why they were left out. */
export function namesLine(
  window: Window,
  notes: readonly Note[],
  bare: readonly Mark[],
  here: Pick<Note, 'onsetSec' | 'offsetSec'> | null,
): Line {
  const text: string[] = new Array(window.columns).fill(' ');
  const put = (stretch: Pick<Note, 'onsetSec' | 'offsetSec'>, name: string, fill: string) => {
    const [from, to] = columnsOf(window, stretch);
    for (let c = from; c < to; c++) text[c] = c === from ? '│' : (name[c - from - 1] ?? fill);
    return [from, to] as const;
  };
  for (const { sound, why } of bare) {
    if (sound !== null) put(sound, why === undefined ? '?' : reasonWord(why), ' ');
  }
  for (const note of notes) put(note, formatTabNote(note), '─');
  if (here === null) return [...head('notes'), span(text.join(''), { dim: true })];
  const [from, to] = columnsOf(window, here);
  const part = (a: number, b: number) => text.slice(a, b).join('');
  return [
    ...head('notes'),
    span(part(0, from)),
    span(part(from, to), { bold: true, inverse: true }),
    span(part(to, window.columns)),
  ];
}

/** Level of the recording as bars, whether notes were found or not; until it is heard, the level of the notes. */
export function levelLine({ hearing }: UiState, window: Window, notes: readonly Note[]): Line {
  const level = new Float64Array(window.columns).fill(Number.NEGATIVE_INFINITY);
  const scale = window.columns / (window.toSec - window.fromSec);
  if (hearing === null) {
    for (const note of notes) {
      const [from, to] = columnsOf(window, note);
      for (let c = from; c < to; c++) level[c] = Math.max(level[c], note.levelDb);
    }
  } else {
    const { levelDb, stepSec } = hearing.track;
    const [from, to] = framesOf(hearing.track, window);
    // A column may be narrower than a step.
    const first = (t: number) => Math.max(0, Math.floor((t * stepSec - window.fromSec) * scale));
    for (let t = from; t < to; t++) {
      for (let c = first(t); c <= Math.min(window.columns - 1, first(t + 1)); c++)
        level[c] = Math.max(level[c], levelDb[t]);
    }
  }
  const loudest = Math.max(...level);
  let text = '';
  for (const db of level) {
    const share = 1 + (db - loudest) / LEVEL_RANGE_DB;
    text += share > 0 ? BARS[Math.min(BARS.length - 1, Math.floor(share * BARS.length))] : ' ';
  }
  return [...head('level'), span(text, { dim: true })];
}

/** Second reeds, under the notes that they spoil. */
export function leakLine(window: Window, notes: readonly Note[]): Line {
  const text: string[] = new Array(window.columns).fill(' ');
  for (const note of notes) {
    if (note.leak === null) continue;
    const word = `${note.leak.hole}!`;
    const [from] = columnsOf(window, note);
    for (let i = 0; i < word.length && from + i < window.columns; i++) text[from + i] = word[i];
  }
  return [...head('leak, hole'), span(text.join(''), { colour: 'red', bold: true })];
}

/** Times under the picture, at whole seconds or tenths. */
export function timeLine(window: Window): Line {
  const perColumn = (window.toSec - window.fromSec) / window.columns;
  const stepSec = [0.2, 0.5, 1, 2, 5, 10].find((step) => step / perColumn >= 9) ?? 20;
  const text: string[] = new Array(window.columns).fill(' ');
  for (let k = Math.ceil(window.fromSec / stepSec); k * stepSec < window.toSec; k++) {
    const sec = k * stepSec;
    const word =
      stepSec < 1 ? `${clock(sec + 1e-6)}.${Math.round(((sec + 1e-6) % 1) * 10) % 10}` : clock(sec + 1e-6);
    const at = Math.floor((sec - window.fromSec) / perColumn);
    if (sec < 0 || at + textColumns(word) + 1 > window.columns) continue;
    text[at] = '╵';
    for (let i = 0; i < word.length; i++) text[at + 1 + i] = word[i];
  }
  return [...head('time'), span(text.join(''), { dim: true })];
}
