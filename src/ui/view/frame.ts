import { isDoubtful } from '../../tab/remarks.ts';
import { keysNow } from '../keys.ts';
import { doubts } from '../state/doubt.ts';
import { type UiState, unsavedCount } from '../state/state.ts';
import { cutLine, type Line, type Span, span, spread, widthOf } from './line.ts';
import { clock } from './time.ts';

/** Why the journal can't be written, by the code of the system. */
const REASONS: Readonly<Record<string, string>> = {
  ENOSPC: 'the disk is full',
  EDQUOT: 'your share of the disk is full',
  EACCES: 'the folder is write-protected',
  EPERM: 'the folder is write-protected',
  EROFS: 'the folder is write-protected',
};

/** Name and harp on the left; doubts left and what is not saved on the right. */
export function titleView(state: UiState, columns: number): Line {
  const { harp, notes } = state.edited.take;
  const left = doubts(notes).length;
  const unsaved = unsavedCount(state);
  const tuning = harp.tuning === 'richter' ? '' : ` ${harp.tuning}`;
  const status: Span[] = [];
  if (state.journal.kind === 'failed') {
    const why = REASONS[state.journal.code] ?? `the journal can't be written (${state.journal.code})`;
    status.push(span(`! ${why}: ${state.journal.waiting} not safe yet  `, { colour: 'red', bold: true }));
  }
  status.push(
    span(
      left === 0 ? 'no doubts' : `${left} ${left === 1 ? 'doubt' : 'doubts'} left`,
      left === 0 ? undefined : { bold: true },
    ),
  );
  status.push(span(unsaved === 0 ? '  saved' : `  ${unsaved} not saved`));
  return spread(
    [span(state.name, { bold: true }), span(`  ${harp.key} harp${tuning}, A4 ${harp.a4Hz.toFixed(0)} Hz`)],
    status,
    columns,
  );
}

/** The whole take in one row: notes, doubts, and where we are. */
export function timelineView(state: UiState, columns: number): Line {
  const { notes, source } = state.edited.take;
  const end = clock(source.durationSec);
  const note = notes[state.at];
  const begin = clock(note?.onsetSec ?? 0);
  const width = Math.max(1, columns - widthOf(begin) - widthOf(end) - 2);
  const signs: string[] = new Array(width).fill('·');
  const column = (sec: number) =>
    Math.max(0, Math.min(width - 1, Math.floor((sec / Math.max(0.001, source.durationSec)) * width)));
  for (const { onsetSec, offsetSec } of notes)
    for (let c = column(onsetSec); c <= column(offsetSec); c++) signs[c] = '─';
  for (const each of notes) if (isDoubtful(each)) signs[column(each.onsetSec)] = '?';
  const here = note === undefined ? 0 : column(note.onsetSec);
  const text = signs.join('');
  return [
    span(`${begin} `),
    span(text.slice(0, here), { dim: true }),
    span('▼', { bold: true }),
    span(text.slice(here + 1), { dim: true }),
    span(` ${end}`),
  ];
}

/** One row: what was just done, what is offered, or what sounds. */
export function messageView(state: UiState, columns: number): Line {
  if (state.message !== null) {
    return cutLine(
      [
        span(
          state.message.text,
          state.message.tone === 'alert' ? { colour: 'red', bold: true } : { bold: true },
        ),
      ],
      columns,
    );
  }
  if (state.offer !== null) {
    const { readings, alike } = state.offer;
    const others = readings.length - alike;
    const parts = [
      ...(alike > 0 ? [`${alike} more like it`] : []),
      ...(others > 0 ? [`${others} near it that ${others === 1 ? 'reads' : 'read'} otherwise now`] : []),
    ];
    return cutLine(
      [span(`change ${parts.join(' and ')}? `, { bold: true }), span('a takes it, Esc leaves it')],
      columns,
    );
  }
  if (state.playing !== null) return cutLine([span(`♪ ${state.playing}`)], columns);
  if (state.recording === 'looking') return [span('reading the recording', { dim: true })];
  if (state.recording === 'missing')
    return cutLine(
      [
        span(
          `'${state.edited.take.source.file}' is not beside the take: pitches as they were measured, no sound`,
          { dim: true },
        ),
      ],
      columns,
    );
  if (state.recording === 'other')
    return cutLine([span('the recording beside the take is another one: not used', { dim: true })], columns);
  return [];
}

/**
 * Every key that does something now, in as many rows as it takes; neighbours that do alike share a word. On a very
 * small terminal those that find no room in `most` rows are left to the help.
 */
export function keysView(state: UiState, columns: number, most = Number.POSITIVE_INFINITY): Line[] {
  const hints: { show: string; label: string }[] = [];
  for (const { show, label } of keysNow(state)) {
    const last = hints[hints.length - 1];
    if (last?.label === label) hints[hints.length - 1] = { show: `${last.show} ${show}`, label };
    else hints.push({ show, label });
  }
  const lines: Line[] = [];
  let line: Span[] = [];
  let width = 0;
  for (const { show, label } of hints) {
    const length = widthOf(show) + 1 + widthOf(label);
    if (width > 0 && width + 2 + length > columns) {
      lines.push(line);
      line = [];
      width = 0;
    }
    if (width > 0) line.push(span('  '));
    line.push(span(show, { bold: true }), span(` ${label}`, { dim: true }));
    width += (width > 0 ? 2 : 0) + length;
  }
  lines.push(line);
  const shown =
    lines.length <= most
      ? lines
      : [...lines.slice(0, most - 1), [span('?', { bold: true }), span(' all keys', { dim: true })]];
  return shown.map((each) => cutLine(each, columns));
}

export function ruleView(text: string, columns: number): Line {
  const head = text === '' ? '' : `── ${text} `;
  return [span(head + '─'.repeat(Math.max(0, columns - widthOf(head))), { dim: true })];
}
