import { formatTabNote } from '../../tab/text.ts';
import { textColumns } from '../../text/width.ts';
import { type KeyRow, keysNow } from '../keys.ts';
import { barsInWords } from '../state/bars.ts';
import { FINDABLE } from '../state/findable.ts';
import { leftOutMarks } from '../state/left-out.ts';
import { againstCount, marksOf } from '../state/marks.ts';
import { phraseAt } from '../state/phrases.ts';
import { bareFocus, markHere } from '../state/place.ts';
import { type PromptMode, type UiState, unsavedCount } from '../state/state.ts';
import {
  cutLine,
  type Line,
  lineWidth,
  padText,
  type Span,
  type Style,
  span,
  spread,
  wrapText,
} from './line.ts';
import { clock, fineClock } from './time.ts';

/** Why the journal can't be written, by system error code. */
const REASONS: Readonly<Record<string, string>> = {
  ENOSPC: 'the disk is full',
  EDQUOT: 'your share of the disk is full',
  EACCES: 'the folder is write-protected',
  EPERM: 'the folder is write-protected',
  EROFS: 'the folder is write-protected',
};

/** Name and harp on the left; what to check and what is not saved on the right. */
export function titleView(state: UiState, columns: number): Line {
  const { harp, title } = state.edited.take;
  const marks = marksOf(state);
  const left = marks.length;
  const seen = marks.filter(({ key }) => state.seen.has(key)).length;
  const against = againstCount(state);
  const unsaved = unsavedCount(state);
  const tuning = harp.tuning === 'richter' ? '' : ` ${harp.tuning}`;
  const alert: Span[] = [];
  if (state.journal.kind === 'failed') {
    const why = REASONS[state.journal.code] ?? `the journal can't be written (${state.journal.code})`;
    alert.push(span(`! ${why}: ${state.journal.waiting} not safe yet  `, { colour: 'red', bold: true }));
  }
  const look = span(left === 0 ? 'nothing to check' : `${left} to check`, { bold: left > 0 });
  const saved = span(state.isReadOnly ? '  read-only' : unsaved === 0 ? '  saved' : `  ${unsaved} not saved`);
  const apart = leftOutMarks(state).length;
  const also = [
    ...(seen === 0 ? [] : [span(`, ${seen} seen`)]),
    ...(apart === 0 ? [] : [span(`  ${apart} left out`)]),
  ];
  const contrary = against === 0 ? [] : [span(`  ≠ ${against} against the sound`, { colour: 'red' })];
  const name = [
    span(state.name, { bold: true }),
    ...(title === undefined ? [] : [span(`  ${title}`)]),
    span(`  ${harp.key} harp${tuning}, A4 ${harp.a4Hz.toFixed(0)} Hz`),
  ];
  // On a narrow screen, less important parts are dropped first.
  const statuses = [
    [...alert, look, ...also, ...contrary, saved],
    [...alert, look, saved],
    [...alert, saved],
  ];
  const fits = (least: number) => statuses.find((status) => lineWidth(status) + least < columns);
  const status = fits(lineWidth(name)) ?? fits(LEAST_NAME_COLUMNS) ?? [saved];
  return spread(name, status, columns);
}

/** This much of the name and the harp is always visible. */
const LEAST_NAME_COLUMNS = 16;

/** Columns of the row of the whole take, between the times at its ends. */
export function timelineBounds(state: UiState, columns: number): { from: number; width: number } {
  const { notes, source } = state.edited.take;
  const begin = textColumns(clock(bareFocus(state)?.sec ?? notes[state.at]?.onsetSec ?? 0));
  return {
    from: begin + 1,
    width: Math.max(1, columns - begin - textColumns(clock(source.durationSec)) - 2),
  };
}

/** The whole take in one row: notes, doubts, and where we are. */
export function timelineView(state: UiState, columns: number): Line {
  const { notes, source } = state.edited.take;
  const end = clock(source.durationSec);
  const { width } = timelineBounds(state, columns);
  const here = bareFocus(state)?.sec ?? notes[state.at]?.onsetSec ?? 0;
  const begin = clock(here);
  const signs: string[] = new Array(width).fill('·');
  const column = (sec: number) =>
    Math.max(0, Math.min(width - 1, Math.floor((sec / Math.max(0.001, source.durationSec)) * width)));
  for (const { onsetSec, offsetSec } of notes)
    for (let c = column(onsetSec); c <= column(offsetSec); c++) signs[c] = '─';
  for (const { sec, kind } of marksOf(state)) if (kind !== 'harp') signs[column(sec)] = '?';
  const at = column(here);
  const text = signs.join('');
  return [
    span(`${begin} `),
    span(text.slice(0, at), { dim: true }),
    span('▼', { bold: true }),
    span(text.slice(at + 1), { dim: true }),
    span(` ${end}`),
  ];
}

/** A wrapped sentence on what was just done, what to check, what is offered, or what is playing. */
export function messageView(state: UiState, columns: number): Line[] {
  const [text, style] = messageOf(state);
  return wrapText(text, columns).map((row) => (row === '' ? [] : [span(row, style)]));
}

/** At most this many are named one by one. */
const MOST_NAMED = 4;

/** Where notes are, by their numbers: `note 12`, `notes 12, 30 and 5 more`. */
function placesOf({ edited }: UiState, ids: readonly string[]): string {
  const wanted = new Set(ids);
  const numbers = edited.take.notes.flatMap(({ id }, i) => (wanted.has(id) ? [i + 1] : []));
  if (numbers.length === 1) return `note ${numbers[0]}`;
  const named = numbers.slice(0, MOST_NAMED);
  const more = numbers.length - named.length;
  if (more > 0) return `notes ${named.join(', ')} and ${more} more`;
  return `notes ${named.slice(0, -1).join(', ')} and ${named.at(-1)}`;
}

function messageOf(state: UiState): [text: string, style?: Style] {
  const { message, offer, playing, recording } = state;
  const mark = markHere(state);
  if (state.mode.kind === 'prompt')
    return [`${promptLabel(state, state.mode)}${state.mode.text}█`, { bold: true }];
  if (message !== null) {
    return [message.text, message.tone === 'alert' ? { colour: 'red', bold: true } : { bold: true }];
  }
  if (offer !== null) {
    const { readings, isShown } = offer;
    const [[, as]] = readings;
    const those = readings.length === 1 ? '1 more note sounds' : `${readings.length} more notes sound`;
    if (!isShown)
      return [`${those} like it: a shows ${readings.length === 1 ? 'it' : 'them'}`, { bold: true }];
    return [
      `a again makes ${placesOf(
        state,
        readings.map(([id]) => id),
      )} ${formatTabNote(as)}, too; Esc leaves ${readings.length === 1 ? 'it' : 'them'}`,
      { bold: true },
    ];
  }
  if (mark?.kind === 'left-out') {
    const all = leftOutMarks(state);
    const place = `${all.indexOf(mark) + 1} of ${all.length}`;
    return [`${place} ${mark.text}. Space ${mark.cure}, L: the next one`, { bold: true }];
  }
  if (mark !== null) {
    const marks = marksOf(state);
    const place = `${marks.indexOf(mark) + 1} of ${marks.length}`;
    return [`${place}: ${mark.text}. Space ${mark.cure}, Enter keeps it`, { bold: true }];
  }
  if (playing !== null)
    return [`♪ ${playing.name}${playing.headSec === null ? '' : `  ${fineClock(playing.headSec)}`}`];
  const dim: Style = { dim: true };
  if (recording === 'looking') return ['reading the recording', dim];
  if (recording === 'ready' && state.hearing === null) return ['listening to the recording', dim];
  if (recording === 'ready' && state.hearing?.sounds === null)
    return ['comparing the tab with the sound', dim];
  if (recording === 'missing') {
    const { file } = state.edited.take.source;
    return [`'${file}' is not beside the take: no sound; \`--recording\` says where it is`, dim];
  }
  if (recording === 'other') return ['the recording is a different one, or has changed since: not used', dim];
  return [''];
}

/** Shown instead of the keys if there is no room for all of them. */
const MAIN_KEYS: ReadonlySet<string> = new Set([
  'mark-next',
  'cure',
  'pass',
  'hole',
  'breath',
  'bend',
  'undo',
  'hear-note',
  'words',
  'save',
  'quit',
]);

/** Columns of the name of a group of keys. */
const GROUP_COLUMNS = 8;

/**
 * The keys that do something now: in groups, each in rows of its own, if that fits in `most` rows; otherwise one after
 * another; otherwise the most important ones, and help for the rest.
 */
export function keysView(state: UiState, columns: number, most = Number.POSITIVE_INFINITY): Line[] {
  const rows = keysNow(state);
  const groups = [...new Set(rows.map(({ group }) => group))];
  const grouped = groups.flatMap((group) =>
    hintLines(
      rows.filter((each) => each.group === group),
      columns,
      groups.length > 1 ? group : '',
    ),
  );
  if (grouped.length <= most) return grouped;
  const flowing = hintLines(rows, columns, '');
  if (flowing.length <= most) return flowing;
  const main = rows.filter(({ id }) => MAIN_KEYS.has(id));
  const help: Line = [span('?', { bold: true }), span(' all keys', { dim: true })];
  const lines = hintLines(main.length > 0 ? main : rows, columns, '');
  // Help comes last, on the last row if there is room.
  const last = lines.at(-1);
  if (lines.length <= most && last !== undefined && lineWidth(last) + 2 + lineWidth(help) <= columns) {
    return [...lines.slice(0, -1), [...last, span('  '), ...help]];
  }
  return [...lines.slice(0, most - 1), help];
}

/** Keys and what they do, in rows; neighbours with the same label share it. */
function hintLines(rows: readonly KeyRow[], columns: number, group: string): Line[] {
  const hints: { show: string; label: string }[] = [];
  for (const { show, label } of rows) {
    const last = hints[hints.length - 1];
    if (last?.label === label) hints[hints.length - 1] = { show: `${last.show} ${show}`, label };
    else hints.push({ show, label });
  }
  const indent = group === '' ? 0 : GROUP_COLUMNS;
  const lines: Line[] = [];
  let line: Span[] = [];
  let width = 0;
  const finish = () => {
    const name = lines.length === 0 ? group : '';
    lines.push(cutLine(indent === 0 ? line : [span(padText(name, indent), { dim: true }), ...line], columns));
    line = [];
    width = 0;
  };
  for (const { show, label } of hints) {
    const length = textColumns(show) + 1 + textColumns(label);
    if (width > 0 && indent + width + 2 + length > columns) finish();
    if (width > 0) line.push(span('  '));
    line.push(span(show, { bold: true }), span(` ${label}`, { dim: true }));
    width += (width > 0 ? 2 : 0) + length;
  }
  if (line.length > 0) finish();
  return lines;
}

export function ruleView(text: string, columns: number): Line {
  const head = text === '' ? '' : `── ${text} `;
  return [span(head + '─'.repeat(Math.max(0, columns - textColumns(head))), { dim: true })];
}

/** What is being typed. */
function promptLabel(state: UiState, { what }: PromptMode): string {
  if (what === 'section')
    return `name of the section from phrase ${phraseAt(state.ranges, state.at) + 1} on: `;
  if (what === 'form') return 'form of the tune, such as AABA or verse chorus verse: ';
  if (what === 'bars')
    return `bars (${barsInWords(state)}): 3/4, a tempo, here (beat 1 on this note), free: `;
  if (what === 'title') return 'title of the tune: ';
  if (what === 'advice') return `teacher's note on phrase ${phraseAt(state.ranges, state.at) + 1}: `;
  if (what === 'advice-all') return "teacher's note on the whole take: ";
  return `go to (1:23, -3'', ${Object.keys(FINDABLE).slice(0, 5).join(', ')}, a word): `;
}
