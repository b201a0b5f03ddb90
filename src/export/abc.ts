import { isCompound } from '../music/rhythm/metre.ts';
import { ornamentsInWords, ornamentsOf } from '../tab/ornament.ts';
import { formatTabNote, severalLegend, type TabStyle } from '../tab/text.ts';
import { goesOn } from '../take/words.ts';
import { harpInWords } from './head.ts';
import { type Bar, buildBars } from './notation/bars.ts';
import { majorKeyName, signatureAlter, spell } from './notation/spelling.ts';
import type { StaffSymbol } from './notation/staff-symbols.ts';
import { leftOverInWords, type Score } from './score.ts';

/** Unit note length L:1/8, in ticks. */
const UNIT_TICKS = 6;
const ACCIDENTALS: Readonly<Record<number, string>> = { [-2]: '__', [-1]: '_', 0: '=', 1: '^', 2: '^^' };

/**
 * A score as ABC 2.1 (abcnotation.com/wiki/abc:standard:v2.1): a line of music for each phrase, below it one `w:` line
 * with the tab, then one for each verse; after the tune, in `W:` lines, words without a note.
 */
export function writeAbc(
  score: Score,
  options: { readonly style: TabStyle; readonly by?: string | null },
): string {
  const { beats, fifths, title } = score;
  const { metre } = beats;
  const compound = metre !== null && isCompound(metre);
  const tempo = compound ? `3/8=${Math.round(beats.tempoBpm / 1.5)}` : `1/4=${Math.round(beats.tempoBpm)}`;
  const lines = [
    '%abc-2.1',
    'X:1',
    `T:${fieldText(title)}`,
    ...(options.by ? [`C:${fieldText(options.by)}`] : []),
    `N:${fieldText(harpInWords(score).join(', '))}`,
    ...legends(score, options.style).map((text) => `N:${fieldText(text)}`),
    `M:${metre === null ? 'none' : `${metre.count}/${metre.unit}`}`,
    'L:1/8',
    `Q:${beats.swing ? '"Swing" ' : ''}${tempo}`,
    `K:${majorKeyName(fifths)}`,
  ];
  const music = musicLines(buildBars(score));
  for (const [i, line] of music.entries()) {
    lines.push(musicLine(line, score, i === music.length - 1));
    const symbols = line.flatMap((bar) => bar.symbols).filter((symbol) => symbol.note !== null);
    // The tab comes first, since programs move a line of words up where one above it holds a syllable.
    lines.push(`w:${symbols.map((symbol) => tabWord(symbol, options.style)).join(' ')}`);
    for (let verse = 0; verse < score.verses; verse++) {
      lines.push(`w:${symbols.map((symbol) => wordOf(symbol, verse)).join('')}`.trimEnd());
    }
  }
  for (const text of leftOverInWords(score)) lines.push(`W:${fieldText(text)}`);
  return `${lines.join('\n')}\n`;
}

/** Explains the tab of several holes, if there is any. */
function legends({ take }: Score, style: TabStyle): string[] {
  const several = severalLegend(take.notes, style);
  return several === '' ? [] : [several];
}

/** Header text on one line, without backslashes and percent signs, which mean something else in ABC. */
function fieldText(text: string): string {
  return text
    .replace(/\s+/g, ' ')
    .replace(/[\\%]/g, (sign) => `\\${sign}`)
    .trim();
}

/** A line ends with its phrase, or after this many bars. */
const BARS_PER_LINE = 6;

function musicLines(bars: readonly Bar[]): Bar[][] {
  const lines: Bar[][] = [];
  let line: Bar[] = [];
  for (const bar of bars) {
    line.push(bar);
    if (!bar.endsPhrase && line.length < BARS_PER_LINE) continue;
    lines.push(line);
    line = [];
  }
  if (line.length > 0) lines.push(line);
  return lines;
}

function musicLine(bars: readonly Bar[], score: Score, last: boolean): string {
  const text = bars.map((bar) => barText(bar, score));
  return `${text.join(' | ')} ${last ? '|]' : '|'}`;
}

/** Notes of one beat are written together, so that they are beamed; accidentals last to the end of the bar. */
function barText(bar: Bar, { fifths, beats }: Score): string {
  const held = new Map<string, number>();
  const beatTicks = beats.metre !== null && isCompound(beats.metre) ? 18 : 12;
  let text = '';
  let at = 0;
  for (const symbol of bar.symbols) {
    if (at % beatTicks === 0 && text !== '') text += ' ';
    const section = symbol.tiedFrom ? undefined : symbol.note?.section;
    if (section !== undefined) text += `[P:${fieldText(section).replace(/[[\]]/g, '')}]`;
    if (symbol.triplet === 'start') text += tripletSign(bar, bar.symbols.indexOf(symbol));
    text += noteText(symbol, fifths, held);
    at += symbol.ticks;
  }
  return text;
}

/** `(3:2:n`: three in the time of two, over the next n notes. */
function tripletSign(bar: Bar, from: number): string {
  let count = 1;
  while (bar.symbols[from + count - 1].triplet !== 'stop') count++;
  return count === 3 ? '(3' : `(3:2:${count}`;
}

function noteText(symbol: StaffSymbol, fifths: number, held: Map<string, number>): string {
  const ticks = symbol.triplet === null ? symbol.ticks : (symbol.ticks * 3) / 2;
  const length = lengthText(ticks);
  if (symbol.note === null) return `z${length}`;
  const { midis } = symbol.note;
  const letters = midis.map((midi) => letterText(midi, symbol, fifths, held)).join('');
  const sounding = midis.length > 1 ? `[${letters}]` : letters;
  return `${annotations(symbol)}${sounding}${length}${symbol.tiedTo ? '-' : ''}`;
}

/** Ornaments of a note, in words above it: `"^scoop"`. */
function annotations({ note, tiedFrom }: StaffSymbol): string {
  if (note === null || tiedFrom) return '';
  const { played } = note;
  const signs = ornamentsOf(played)
    .map(({ kind }) => kind)
    .filter((kind) => kind === 'scoop' || kind === 'fall' || kind === 'vibrato');
  const words = [...(played.shake ? ['shake'] : []), ...signs, ...ornamentsInWords(played)];
  return words.map((word) => `"^${word}"`).join('');
}

/** One pitch, with its sign where one is needed. */
function letterText(midi: number, symbol: StaffSymbol, fifths: number, held: Map<string, number>): string {
  const { step, alter, octave } = spell(midi, fifths);
  const letter = octave >= 5 ? step.toLowerCase() + "'".repeat(octave - 5) : step + ','.repeat(4 - octave);
  // In some programs an accidental applies to its own octave, in others to all: a sign is written where either would be
  // wrong.
  const anyOctave = `${step}*`;
  const inKey = signatureAlter(step, fifths);
  const expected = [held.get(letter) ?? inKey, held.get(anyOctave) ?? inKey];
  const sign = expected.every((each) => each === alter) ? '' : ACCIDENTALS[alter];
  // Nor do they agree on what the accidental of a tied note does to later notes of the bar.
  const later = symbol.tiedFrom && alter !== inKey ? Number.NaN : alter;
  held.set(letter, later).set(anyOctave, later);
  return `${sign}${letter}`;
}

function lengthText(ticks: number): string {
  if (ticks % UNIT_TICKS === 0) return ticks === UNIT_TICKS ? '' : String(ticks / UNIT_TICKS);
  const halves = (2 * ticks) / UNIT_TICKS;
  return halves === 1 ? '/' : `${halves}/2`;
}

/** A word for a `w:` line: signs with a meaning there are escaped, or left out where they can't be. */
function escapeWord(text: string): string {
  const escaped = text
    // Programs don't agree on an escaped backslash; U+2216 looks the same.
    .replaceAll('\\', '∖')
    .replace(/[-_*|]/g, '\\$&')
    .replace(/\s+/g, '~')
    .replace(/%/g, '\\%');
  // If nothing were written, the words after it would move to the note before.
  return escaped === '' ? '~' : escaped;
}

function wordOf({ note, tiedFrom }: StaffSymbol, verse: number): string {
  const sung = note?.sung[verse];
  if (tiedFrom) return sung ? '_ ' : '* ';
  if (!sung) return '* ';
  if (sung.kind === 'hold') return '_ ';
  return `${escapeWord(sung.text)}${goesOn(sung) ? '-' : ''} `;
}

function tabWord({ note, tiedFrom }: StaffSymbol, style: TabStyle): string {
  return note === null || tiedFrom ? '*' : escapeWord(formatTabNote(note.played, style));
}
