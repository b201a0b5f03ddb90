import { ReedtraceError } from '../errors.ts';
import { shortened } from '../plain-text.ts';
import type { TabNote } from './tab-note.ts';
import {
  formatTabNote,
  parseTabToken,
  readOrnaments,
  signOrnaments,
  TAB_STYLES,
  type TabOrnament,
  type TabStyle,
} from './text.ts';

/** One thing in a line of tab. Line and column count from 1. */
export type TabItem =
  | {
      readonly kind: 'note';
      readonly note: TabNote;
      /** Length in beats, > 0; null when the file does not say. */
      readonly beats: number | null;
      /** Slurred or tied to the note before (`~`). */
      readonly slurred: boolean;
      /** Ornaments written as signs (`/-4`, `-4~`, `-4\\`); missing when there are none. */
      readonly ornaments?: readonly TabOrnament[];
      readonly line: number;
      readonly column: number;
    }
  | { readonly kind: 'rest'; readonly beats: number | null; readonly line: number; readonly column: number }
  | { readonly kind: 'bar'; readonly line: number; readonly column: number };

/** A plain tab file: one phrase per line. */
export interface TabText {
  /** At least one note each. */
  readonly phrases: readonly (readonly TabItem[])[];
  /** Lines that hold words rather than tab (lyrics, titles, legends), with their number. */
  readonly words: readonly { readonly line: number; readonly text: string }[];
}

const TOKEN = /:\|+|\|+[:\]]?|[^\s|,;]+/g;
const LENGTH = /^(?<what>.+?):(?<beats>\d+(?:\.\d+)?|\d+\/\d+)$/;
/** A line is words, not tab, unless more than this share of it reads as tab ("flat 9" and "2 miles" hold a number). */
const TAB_SHARE = 0.5;
/** Skipped: dashes that hold a note, and times in brackets, as in printed tab. */
const FILLER = /^(?:[-–—_.]+|\[\d+(?::\d\d)+\])$/;

/**
 * Reads a plain tab file. Notes are separated by spaces or commas; `|` is a bar line (repeat signs count as bar lines
 * and are not played again); `:0.5` or `:1/2` after a note is its length in beats; `r` or `r:1` is a rest; `~` before a
 * note slurs it to the last; signs of ornaments are read; `#` begins a comment line; lone dashes and times such as
 * `[0:12]` are skipped. Lines of words are returned separately.
 * @throws ReedtraceError E_TAB_INVALID with line and column of what is not tab, or when there is no note at all
 */
export function parseTab(text: string, style: TabStyle = 'signs'): TabText {
  const phrases: TabItem[][] = [];
  const words: { line: number; text: string }[] = [];
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\r|\n/);
  for (const [index, content] of lines.entries()) {
    const line = index + 1;
    if (content.trim() === '' || content.trimStart().startsWith('#')) continue;
    const items: TabItem[] = [];
    const strange: { token: string; column: number }[] = [];
    for (const match of content.matchAll(TOKEN)) {
      const token = match[0];
      if (FILLER.test(token)) continue;
      const item = parseItem(token, style, line, match.index + 1);
      if (item) items.push(item);
      else strange.push({ token, column: match.index + 1 });
    }
    const spoken = items.filter((item) => item.kind !== 'bar').length;
    if (spoken === 0 || spoken / (spoken + strange.length) <= TAB_SHARE) {
      const readsAs = otherStyle(strange, style);
      if (readsAs) throw notTab(strange[0], line, style, readsAs);
      if (strange.length > 0) words.push({ line, text: content.trim() });
    } else if (strange.length > 0) {
      throw notTab(strange[0], line, style, otherStyle(strange.slice(0, 1), style));
    } else if (items.some((item) => item.kind === 'note')) {
      phrases.push(items);
    }
  }
  if (phrases.length === 0) {
    throw new ReedtraceError(
      'E_TAB_INVALID',
      'the tab has no notes',
      `write notes such as 4 -4 -3'', or name another style (${TAB_STYLES.join(', ')})`,
    );
  }
  return { phrases, words };
}

/** True when `parseTab` takes a line for words; it would read a line such as "1 2 3" as tab. */
export function readsAsWords(line: string, style: TabStyle = 'signs'): boolean {
  const note = formatTabNote({ hole: 4, breath: 'blow', bend: 0, over: false }, style);
  try {
    return parseTab(`${note}\n${line}`, style).phrases.length === 1;
  } catch {
    return false;
  }
}

/** Writes tab that `parseTab` reads back to the same phrases. */
export function formatTab(phrases: readonly (readonly TabItem[])[], style: TabStyle = 'signs'): string {
  const lines = phrases.map((items) => items.map((item) => formatItem(item, style)).join(' '));
  return `${lines.join('\n')}\n`;
}

function formatItem(item: TabItem, style: TabStyle): string {
  if (item.kind === 'bar') return '|';
  const length = item.beats === null ? '' : `:${item.beats}`;
  if (item.kind === 'rest') return `r${length}`;
  const tab = signOrnaments(formatTabNote(item.note, style), item.ornaments ?? []);
  return `${item.slurred ? '~' : ''}${tab}${length}`;
}

function parseItem(token: string, style: TabStyle, line: number, column: number): TabItem | undefined {
  if (token.includes('|')) return { kind: 'bar', line, column };
  const groups = LENGTH.exec(token)?.groups;
  const what = groups?.what ?? token;
  const beats = groups ? parseBeats(groups.beats) : null;
  if (beats !== null && !(beats > 0 && Number.isFinite(beats))) return undefined;
  if (/^r$/i.test(what)) return { kind: 'rest', beats, line, column };
  const slurred = what.startsWith('~');
  const signed = readOrnaments(slurred ? what.slice(1) : what);
  if (signed === undefined) return undefined;
  const note = parseTabToken(signed.tab, style);
  if (note === undefined) return undefined;
  const { ornaments } = signed;
  return {
    kind: 'note',
    note,
    beats,
    slurred,
    ...(ornaments.length > 0 ? { ornaments } : {}),
    line,
    column,
  };
}

function parseBeats(text: string): number {
  const [over, under = '1'] = text.split('/');
  return Number(over) / Number(under);
}

/** Another style that could read most of these tokens, if any. */
function otherStyle(tokens: readonly { token: string }[], style: TabStyle): TabStyle | undefined {
  if (tokens.length === 0) return undefined;
  return TAB_STYLES.filter((candidate) => candidate !== style).find((candidate) => {
    const read = tokens.filter(({ token }) => parseItem(token, candidate, 0, 0)?.kind === 'note');
    return read.length / tokens.length > TAB_SHARE;
  });
}

/** Characters that an error quotes of what is not tab. */
const LONGEST_QUOTE = 40;

function notTab(
  strange: { token: string; column: number },
  line: number,
  style: TabStyle,
  readsAs: TabStyle | undefined,
): ReedtraceError {
  const example = formatTabNote({ hole: 4, breath: 'draw', bend: 1, over: false }, style);
  return new ReedtraceError(
    'E_TAB_INVALID',
    `line ${line}, column ${strange.column}: '${shortened(strange.token, LONGEST_QUOTE)}' is not tab in the ${style} style`,
    readsAs
      ? `it reads as ${readsAs}: use --tab-style ${readsAs}`
      : `holes go from 1 to 10, as in ${example}; begin a line of words with #`,
  );
}
