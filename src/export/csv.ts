import { barNumber, barTicks, TICKS_PER_BEAT } from '../music/rhythm/metre.ts';
import { type Ornamented, ornamentsOf } from '../tab/ornament.ts';
import { formatTabNote } from '../tab/text.ts';
import { printSyllable } from '../take/words.ts';
import { csvCell } from '../text/csv.ts';
import { spell } from './notation/spelling.ts';
import { sectionLine } from './repeats.ts';
import type { Score, ScoreNote } from './score.ts';

type Cell = string | number | boolean | null;

const SIGN: Readonly<Record<number, string>> = { [-2]: 'bb', [-1]: 'b', 0: '', 1: '#', 2: '##' };

/** Columns in order: name, and value for a note. Units are in the names. */
const COLUMNS: readonly (readonly [name: string, of: (note: ScoreNote, score: Score) => Cell])[] = [
  ['number', ({ index }) => index + 1],
  ['id', ({ played }) => played.id],
  ['onset_s', ({ played }) => round(played.onsetSec, 4)],
  ['offset_s', ({ played }) => round(played.offsetSec, 4)],
  ['phrase', ({ index }, score) => phraseOf(index, score) + 1 || null],
  ['phrase_label', ({ index }, score) => score.take.phrases[phraseOf(index, score)]?.label ?? null],
  ['section', ({ index }, score) => sectionLine(score.take.phrases, phraseOf(index, score))?.section ?? null],
  ['bar', (note, score) => barOf(note, score)],
  ['beat', (note, score) => beatOf(note, score)],
  ['length_beats', ({ lengthTicks }) => round(lengthTicks / TICKS_PER_BEAT, 4)],
  // The letters style: a spreadsheet would take -4 for a number, and +4 or =4 for a formula.
  ['tab', ({ played }) => formatTabNote(played, 'letters')],
  ['hole', ({ played }) => played.hole],
  ['breath', ({ played }) => played.breath],
  ['bend_semitones', ({ played }) => played.bend],
  ['over', ({ played }) => (played.over ? 'yes' : 'no')],
  ['note', ({ midi }, { fifths }) => nameOf(midi, fifths)],
  ['midi', ({ midi }) => midi],
  ['f0_hz', ({ played }) => round(played.f0Hz, 3)],
  ['cents', ({ played }) => round(played.cents, 1)],
  ['confidence', ({ played }) => round(played.confidence, 3)],
  ['start', ({ played }) => played.start],
  ['steadiness_cents', ({ played }) => rounded(played.intonation?.steadinessCents, 1)],
  ['drift_cents_per_s', ({ played }) => rounded(played.intonation?.driftCentsPerSec, 1)],
  ['scoop_cents', ({ played }) => rounded(played.intonation?.scoopCents, 1)],
  ['scoop_s', ({ played }) => rounded(played.intonation?.scoopSec, 3)],
  ['leak_hole', ({ played }) => played.leak?.hole ?? null],
  ['leak_db', ({ played }) => rounded(played.leak?.levelDb, 1)],
  ['level_db', ({ played }) => round(played.levelDb, 1)],
  ['harmonicity_db', ({ played }) => round(played.harmonicityDb, 1)],
  ['flags', ({ played }) => played.flags.join(' ')],
  // With plus signs: a spreadsheet would take 4-5 for a date.
  ['holes', ({ played }) => played.holes?.join('+') ?? null],
  ['notes', (note, { fifths }) => note.midis.map((midi) => nameOf(midi, fifths)).join('+')],
  ['shake', ({ played }) => (played.shake ? 'yes' : 'no')],
  [
    'ornaments',
    ({ played }) =>
      ornamentsOf(played)
        .map(({ kind }) => kind)
        .join(' ') || null,
  ],
  ['ornament_notes_per_s', ({ played }) => measureOf(played, 'notesPerSec', 1)],
  ['ornament_hz', ({ played }) => measureOf(played, 'rateHz', 2)],
  [
    'ornament_cents',
    ({ played }) =>
      measureOf(played, 'fromCents', 1) ??
      measureOf(played, 'toCents', 1) ??
      measureOf(played, 'depthCents', 1),
  ],
  ['ornament_s', ({ played }) => measureOf(played, 'durationSec', 3)],
  ['ornament_db', ({ played }) => measureOf(played, 'depthDb', 1)],
  ['hole_bends_semitones', ({ played }) => played.holeBends?.join('+') ?? null],
];

/** A measure of the most prominent ornament; null where the note has none of that kind, or it was only named by hand. */
function measureOf({ ornament }: Ornamented, name: string, digits: number): number | null {
  if (ornament?.unmeasured === true) return null;
  const value = (ornament as Readonly<Record<string, unknown>> | undefined)?.[name];
  return typeof value === 'number' ? round(value, digits) : null;
}

const NO_PHRASE = -1;

function round(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

function rounded(value: number | undefined, digits: number): number | null {
  return value === undefined ? null : round(value, digits);
}

/** The first phrase that each note is in, by take. */
const phrasesOfNotes = new WeakMap<Score['take'], Int32Array>();

function phraseOf(index: number, { take }: Score): number {
  const known = phrasesOfNotes.get(take);
  if (known !== undefined) return known[index];
  const places = new Int32Array(take.notes.length).fill(NO_PHRASE);
  for (const [place, { firstNote, lastNote }] of take.phrases.entries()) {
    for (let i = firstNote; i <= lastNote; i++) if (places[i] === NO_PHRASE) places[i] = place;
  }
  phrasesOfNotes.set(take, places);
  return places[index];
}

/** The pick-up is bar 0. */
function barOf({ atTicks }: ScoreNote, { beats }: Score): number | null {
  if (beats.metre === null) return null;
  return barNumber(atTicks, beats.metre, beats.pickupTicks);
}

/** In the metre's own beats, from 1. */
function beatOf({ atTicks }: ScoreNote, { beats }: Score): number | null {
  if (beats.metre === null) return null;
  const unitTicks = (4 * TICKS_PER_BEAT) / beats.metre.unit;
  return round((atTicks % barTicks(beats.metre)) / unitTicks + 1, 4);
}

function nameOf(midi: number, fifths: number): string {
  const { step, alter, octave } = spell(midi, fifths);
  return `${step}${SIGN[alter]}${octave}`;
}

/** Separator between cells: spreadsheets with decimal commas expect a semicolon. */
const SEPARATOR = { point: ',', comma: ';' } as const;

/**
 * A take as CSV (RFC 4180, except for the separator with decimal commas), one row per note, with a column of words for
 * each verse. Text that a spreadsheet would take for a formula is prefixed with an apostrophe; a byte-order mark comes
 * first when anything is not ASCII.
 */
export function writeCsv(score: Score, decimal: keyof typeof SEPARATOR = 'point'): string {
  const verses = Array.from({ length: score.verses }, (_, verse) => verse);
  const header = [...COLUMNS.map(([name]) => name), ...verses.map((verse) => `words_${verse + 1}`)];
  const rows = score.notes.map((note) => [
    ...COLUMNS.map(([, of]) => of(note, score)),
    ...verses.map((verse) => wordCell(note, verse)),
  ]);
  const text = [header, ...rows]
    .map((row) => `${row.map((cell) => cellText(cell, decimal)).join(SEPARATOR[decimal])}\r\n`)
    .join('');
  return /[^\p{ASCII}]/u.test(text) ? `\uFEFF${text}` : text;
}

function wordCell({ sung }: ScoreNote, verse: number): Cell {
  const here = sung[verse];
  if (here === undefined) return null;
  if (here.kind === 'hold') return '_';
  return printSyllable(here);
}

function cellText(cell: Cell, decimal: keyof typeof SEPARATOR): string {
  if (cell === null) return '';
  if (typeof cell !== 'string') return decimal === 'comma' ? String(cell).replace('.', ',') : String(cell);
  return csvCell(cell, SEPARATOR[decimal]);
}
