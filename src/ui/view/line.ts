import { splitGraphemes } from '../../text/graphemes.ts';
import { textColumns } from '../../text/width.ts';

/** The style of a piece of a line; characters show what matters too, since there may be no colour. */
export interface Style {
  readonly bold?: boolean;
  readonly dim?: boolean;
  readonly inverse?: boolean;
  readonly colour?: 'magenta' | 'red' | 'green';
}

export interface Span {
  readonly text: string;
  readonly style?: Style;
}

/** One row of the screen, left to right. */
export type Line = readonly Span[];

export const span = (text: string, style?: Style): Span => (style === undefined ? { text } : { text, style });
export const plain = (text: string): Line => [{ text }];

export function lineWidth(line: Line): number {
  return line.reduce((sum, { text }) => sum + textColumns(text), 0);
}

/** A text cut to a width, with `…` where something was cut off. */
function cutText(text: string, columns: number): string {
  if (textColumns(text) <= columns) return text;
  let kept = '';
  let width = 0;
  for (const character of splitGraphemes(text)) {
    const next = width + textColumns(character);
    if (next > columns - 1) break;
    kept += character;
    width = next;
  }
  return columns > 0 ? `${kept}…` : '';
}

/** A sentence in rows of at most this many columns, broken between words; at least one row. */
export function wrapText(text: string, columns: number): string[] {
  const rows: string[] = [];
  let row = '';
  for (const word of text.split(' ')) {
    const longer = row === '' ? word : `${row} ${word}`;
    if (row !== '' && textColumns(longer) > columns) {
      rows.push(row);
      row = word;
    } else row = longer;
  }
  return [...rows, row].map((each) => cutText(each, columns));
}

/** A text padded or cut to exactly this many columns. */
export function padText(text: string, columns: number): string {
  const cut = cutText(text, columns);
  return cut + ' '.repeat(Math.max(0, columns - textColumns(cut)));
}

/** A line cut to a width. */
export function cutLine(line: Line, columns: number): Line {
  const kept: Span[] = [];
  let left = columns;
  for (const piece of line) {
    const width = textColumns(piece.text);
    if (width > left) {
      kept.push({ ...piece, text: cutText(piece.text, left) });
      break;
    }
    kept.push(piece);
    left -= width;
  }
  return kept;
}

/** Two lines on one row, the second at the right edge; if they don't fit, the first is cut. */
export function spread(left: Line, right: Line, columns: number): Line {
  const room = columns - lineWidth(right) - 1;
  const cut = cutLine(left, Math.max(0, room));
  return [...cut, span(' '.repeat(Math.max(1, columns - lineWidth(cut) - lineWidth(right)))), ...right];
}

// Select Graphic Rendition (ECMA-48). Colours that are readable on dark and light backgrounds.
const COLOURS = { red: 31, green: 32, magenta: 35 } as const;

/** A line for a terminal. */
function toAnsi(line: Line, colour: boolean): string {
  let text = '';
  for (const { text: piece, style } of line) {
    const codes: number[] = [];
    if (style?.bold) codes.push(1);
    if (style?.dim) codes.push(2);
    if (style?.inverse) codes.push(7);
    if (colour && style?.colour !== undefined) codes.push(COLOURS[style.colour]);
    text += codes.length === 0 ? piece : `\u001b[${codes.join(';')}m${piece}\u001b[0m`;
  }
  return text;
}

/** Characters that a terminal without Unicode can't show, and their replacements. */
const ASCII_FOR: Readonly<Record<string, string>> = {
  '─': '-',
  '━': '=',
  '│': '|',
  '·': '.',
  '…': '~',
  '▁': '.',
  '▂': '.',
  '▃': ':',
  '▄': ':',
  '▅': '+',
  '▆': '+',
  '▇': '#',
  '█': '#',
  '←': '<',
  '→': '>',
  '↑': '^',
  '↓': 'v',
  '▲': '^',
  '▼': 'v',
  '▶': '>',
  '◆': '*',
  '–': '-',
  '’': "'",
  '♪': '*',
  '╵': '|',
  '┊': ':',
  '┃': '|',
  '≠': '/',
  '♭': 'b',
  '♯': '#',
};

/** The same line in ASCII, for terminals whose locale has no Unicode; letters of words stay as they are. */
export function toAscii(text: string): string {
  return text.replace(
    /[─━│┊┃·…▁-█←→↑↓▲▼▶◆–’♪╵≠♭♯\u2800-\u28ff]/g,
    (sign) => ASCII_FOR[sign] ?? dotsInAscii(sign),
  );
}

/** Upper dots of a braille cell as ', lower as ., both as : */
function dotsInAscii(sign: string): string {
  const dots = sign.charCodeAt(0) - 0x2800;
  if (dots === 0) return ' ';
  const upper = (dots & 0b00011011) !== 0;
  const lower = (dots & 0b11100100) !== 0;
  return upper && lower ? ':' : upper ? "'" : '.';
}

/** What the terminal can show. */
export interface TerminalCapabilities {
  readonly colour: boolean;
  readonly unicode: boolean;
}

/** One row for a terminal. */
export function printLine(line: Line, { colour, unicode }: TerminalCapabilities): string {
  const row = toAnsi(line, colour);
  return unicode ? row : toAscii(row);
}

/** Rows as one text. */
export function printLines(lines: readonly Line[], capabilities: TerminalCapabilities): string {
  return lines.map((line) => printLine(line, capabilities)).join('\n');
}
