import type { FoundHarp, HarpGuess } from '../harp/types.ts';
import { counted } from '../text/counted.ts';
import { textColumns } from '../text/width.ts';
import { leftOutInWords } from './left-out-words.ts';
import { DOUBTFUL_BELOW, type Note } from './note.ts';
import { ornamentsInWords } from './ornament.ts';
import { remarkLegend, remarksOn, unjudgedInWords } from './remarks.ts';
import { formatTime } from './sheet-time.ts';
import { percent, SURE_HARP, suretyInWords, TIE } from './surety.ts';
import { formatPlayedNote, legend, ornamentLegend, severalLegend, type TabStyle } from './text.ts';
import { leftOverLines, NO_WORDS, type SheetWords, wordsLine } from './words-rows.ts';

/** What a printed tab is made from; a take has all of it. */
export interface SheetSource {
  readonly source: { readonly file: string; readonly durationSec: number };
  readonly harp: FoundHarp;
  readonly notes: readonly Note[];
  readonly phrases: readonly {
    readonly firstNote: number;
    readonly lastNote: number;
    /** Name of the section that begins with it. */
    readonly name?: string | undefined;
  }[];
  /** Sounds that were left out. */
  readonly leftOut?:
    | readonly { readonly onsetSec: number; readonly offsetSec: number; readonly why: string }[]
    | undefined;
}

/** Colour, where available; the meaning never depends on it. */
export interface Paint {
  /** Times and legends. */
  faint(text: string): string;
  /** Doubt and faults. */
  alert(text: string): string;
}

const PLAIN: Paint = { faint: (text) => text, alert: (text) => text };

export interface SheetOptions {
  /** Width of the page in columns, ≥ 1. */
  readonly columns: number;
  readonly style: TabStyle;
  readonly paint?: Paint;
  readonly words?: SheetWords;
}

const GAP = '  ';
/** Runners-up for the harp that are less likely than this are not mentioned. */
const RUNNER_UP_FROM = 0.01;

/** Breaks a sentence at spaces; lines after the first are indented. */
function wrapWords(text: string, columns: number, indent: string): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line.trim() !== '' && textColumns(longer) > columns) {
      lines.push(line);
      line = `${indent}${word}`;
    } else {
      line = longer;
    }
  }
  return [...lines, line].map((wrapped) => wrapped.replaceAll(TIE, ' '));
}

interface Cell {
  readonly onsetSec: number;
  /** The tab on top, then words, a row for each verse. */
  readonly rows: readonly string[];
  /** Ornaments that tab has no sign for; usually empty. */
  readonly played: string;
  /** Doubt and faults, one per row. */
  readonly remarks: readonly string[];
  readonly width: number;
}

function cellOf(note: Note, style: TabStyle, { under, verses }: SheetWords): Cell {
  const words = under.get(note.id) ?? new Array<string>(verses).fill('');
  const rows = [formatPlayedNote(note, style), ...words];
  const played = ornamentsInWords(note).join(', ');
  const remarks = remarksOn(note, style);
  const width = Math.max(...[...rows, played, ...remarks].map(textColumns));
  return { onsetSec: note.onsetSec, rows, played, remarks, width };
}

/** The notes by phrase; notes that no phrase holds make lines of their own. */
function byPhrase({ notes, phrases }: SheetSource): (readonly Note[])[] {
  const lines: (readonly Note[])[] = [];
  let next = 0;
  for (const { firstNote, lastNote } of phrases) {
    if (firstNote > next) lines.push(notes.slice(next, firstNote));
    lines.push(notes.slice(Math.max(firstNote, next), lastNote + 1));
    next = Math.max(next, lastNote + 1);
  }
  lines.push(notes.slice(next));
  return lines.filter((line) => line.length > 0);
}

/** The name of the section that begins with a note, to be printed above its line; nothing if none does. */
function headingOf(
  { notes, phrases }: SheetSource,
  { id }: Note,
  columns: number,
  style: TabStyle,
): string[] {
  const name = phrases.find(({ firstNote }) => notes[firstNote]?.id === id)?.name;
  if (name === undefined) return [];
  const heading = wrapWords(name, columns - GAP.length, '').map((line) => wordsLine(line, style));
  return notes[0].id === id ? heading : ['', ...heading];
}

/** As many cells per line as fit beside the time; lines after the first are indented further. */
function breakLines(cells: readonly Cell[], columns: number): Cell[][] {
  const lines: Cell[][] = [];
  let room = 0;
  for (const cell of cells) {
    const needed = GAP.length + cell.width;
    if (lines.length === 0 || needed > room) {
      room = columns - formatTime(cell.onsetSec).length - (lines.length > 0 ? GAP.length : 0);
      lines.push([]);
    }
    lines[lines.length - 1].push(cell);
    room -= needed;
  }
  return lines;
}

function printLine(
  cells: readonly Cell[],
  continues: boolean,
  verses: number,
  style: TabStyle,
  paint: Paint,
): string[] {
  const time = `${formatTime(cells[0].onsetSec)}${continues ? GAP : ''}`;
  const indent = ' '.repeat(time.length);
  const across = (wordOf: (cell: Cell) => string): string =>
    cells
      .map((cell) => {
        const word = wordOf(cell);
        return `${GAP}${word}${' '.repeat(cell.width - textColumns(word))}`;
      })
      .join('')
      .trimEnd();
  const printed = [`${paint.faint(time)}${across(({ rows }) => rows[0])}`];
  for (let verse = 1; verse <= verses; verse++) {
    const text = across(({ rows }) => rows[verse] ?? '');
    if (text !== '') printed.push(wordsLine(`${indent}${text}`, style));
  }
  const played = across((cell) => cell.played);
  if (played !== '') printed.push(paint.faint(`${indent}${played}`));
  const height = Math.max(...cells.map(({ remarks }) => remarks.length));
  for (let row = 0; row < height; row++)
    printed.push(paint.alert(`${indent}${across(({ remarks }) => remarks[row] ?? '')}`));
  return printed;
}

function harpInWords({ harp }: SheetSource): string {
  const a4 = Number(harp.a4Hz.toFixed(1));
  return `${harp.key} harp, ${harp.tuning} tuning, ${harp.temperament} temperament, ${['A4', '=', a4, 'Hz'].join(TIE)}`;
}

/** How the harp was detected, or null when the player named it. */
function findingInWords({ harp }: SheetSource): string | null {
  if (harp.confidence >= 1 && harp.alternatives.length === 0) return null;
  const nameOf = ({ key, tuning, confidence }: HarpGuess): string => {
    const name = tuning === harp.tuning ? key : `${key} ${tuning}`;
    return `${name.replaceAll(' ', TIE)}${TIE}${percent(confidence)}`;
  };
  const others = harp.alternatives.filter((other) => other.confidence >= RUNNER_UP_FROM);
  const next = others.map(nameOf).join(', ');
  if (others.length > 0 && harp.confidence < DOUBTFUL_BELOW) {
    return `The notes fit several harps: ${nameOf(harp)}, ${next}. The tab is for the first. If you played another, name it, such as with ${optionsFor(others[0])}.`;
  }
  const advice =
    harp.confidence >= SURE_HARP
      ? ''
      : others.length === 0
        ? ' Name it with `--harp` if you know it.'
        : ` If it was another, name it, such as with ${optionsFor(others[0])}.`;
  return `Harp detected from the notes, ${percent(harp.confidence)} sure; ${next === '' ? 'no other comes close' : `next ${next}`}.${advice}`;
}

/** What to type so that this harp is used. */
function optionsFor({ key, tuning }: HarpGuess): string {
  const name = key.includes(' ') ? `"${key}"` : key;
  const options = tuning === 'richter' ? `--harp ${name}` : `--harp ${name} --tuning ${tuning}`;
  return `\`${options.replaceAll(' ', TIE)}\``;
}

function closingLine(source: SheetSource, lineCount: number, style: TabStyle): string {
  const { notes } = source;
  if (notes.length === 0) return 'No notes.';
  const size = `${counted(notes.length, 'note')} in ${counted(lineCount, 'phrase')}`;
  return `${size}${suretyInWords(source, style)}`;
}

/**
 * The printed tab of a take: the harp, a legend, one line for each phrase with its time, names of sections, words, doubt and faults in words
 * below the notes concerned, and a closing line.
 * @returns lines joined by and ending in a line break; none is wider than `columns`, unless one word is
 */
export function formatSheet(source: SheetSource, options: SheetOptions): string {
  const { columns, style, paint = PLAIN, words = NO_WORDS } = options;
  const phrases = byPhrase(source);
  const prose = (text: string) => wrapWords(text, columns, GAP);
  const faint = (text: string) => prose(text).map((line) => paint.faint(line));
  const found = findingInWords(source);
  const remarks = remarkLegend(source.notes);
  const several = severalLegend(source.notes, style);
  const ornaments = ornamentLegend(source.notes, style);
  const unjudged = unjudgedInWords(source.notes);
  const leftOut = leftOutInWords(source.leftOut ?? []);
  const lines = [
    ...prose(`${source.source.file}: ${harpInWords(source)}`),
    ...(found === null ? [] : prose(found)),
    ...faint(legend(style)),
    ...(several === '' ? [] : faint(several)),
    ...(ornaments === '' ? [] : faint(ornaments)),
    ...(remarks === '' ? [] : faint(remarks)),
    '',
    ...phrases.flatMap((notes) => {
      const cells = notes.map((note) => cellOf(note, style, words));
      return [
        ...headingOf(source, notes[0], columns, style).map((line) => paint.faint(line)),
        ...breakLines(cells, columns).flatMap((line, at) =>
          printLine(line, at > 0, words.verses, style, paint),
        ),
      ];
    }),
    '',
    ...leftOverLines(words, prose, style),
    ...prose(closingLine(source, phrases.length, style)),
    ...(unjudged === '' ? [] : prose(unjudged)),
    ...leftOut.flatMap(prose),
  ];
  return `${lines.join('\n')}\n`;
}
