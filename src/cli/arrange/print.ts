import type { Arrangement, Candidate, PlayedOn } from '../../arrange/arrange.ts';
import { chordsOf, type LaidChord } from '../../arrange/chords.ts';
import type { CostParts } from '../../arrange/cost.ts';
import { hardestNotes, missingNotes, placeInWords } from '../../arrange/explain.ts';
import { changedNotes } from '../../arrange/learning.ts';
import { shortListOf } from '../../arrange/short-list.ts';
import type { ArrangedTune } from '../../arrange/tablature.ts';
import type { Tune } from '../../arrange/tune.ts';
import { KEY_NAMES, printedLabel } from '../../harp/keys.ts';
import type { Layout } from '../../harp/layouts.ts';
import { noteName } from '../../harp/names.ts';
import { positionName } from '../../harp/positions.ts';
import { formatTabNote, legend, type TabStyle } from '../../tab/text.ts';
import { counted } from '../../text/counted.ts';
import { hung } from '../terminal/hung.ts';

/** What is printed, whatever the format. */
export interface ArrangeSource {
  readonly name: string;
  readonly tune: Tune;
  readonly arrangement: Arrangement;
  readonly played: PlayedOn | undefined;
  readonly style: TabStyle;
  /** At most this many candidates. */
  readonly limit: number;
}

/** How many hard notes are named for each candidate. */
export const HARD_NOTES = 3;
/** How many missing notes are named one by one. */
const MISSING_NAMED = 4;
/** For how many chords the lost notes are named. */
const CHORDS_NAMED = 3;
const INDENT = '   ';

/** The ranking as text, wrapped to `columns`. */
export function arrangeText(source: ArrangeSource, columns: number): string {
  const { tune, arrangement, played, style } = source;
  const count = counted(tune.notes.length, 'note');
  const lines = [
    `${source.name}: ${count}, keynote ${KEY_NAMES[tune.tonic]}${tune.tonicGuessed ? ' (guessed)' : ''}`,
  ];
  if (arrangement.played && played) {
    const bends = bendsInWords(arrangement.played);
    lines.push(
      `as played, on the ${harpInWords(played.harp.key, played.layout)}: ${bends}, difficulty ${points(arrangement.played.cost)}`,
    );
    lines.push(...hard(tune, arrangement.played, INDENT));
  }
  const answers = played ? shortListOf(arrangement, played) : [];
  if (answers.length > 0) lines.push('', 'In short');
  answers.forEach(({ sentence }, i) => {
    lines.push(...hung(`${i + 1}.`, sentence, columns));
  });
  const shown = byTab(arrangement.candidates).slice(0, source.limit);
  if (answers.length > 0 && shown.length > 0) lines.push('', 'In full');
  if (shown.length === 0) {
    lines.push('', 'None of these harps has even half the notes of this tune.');
  } else if (shown[0][0].missing > 0) {
    lines.push('', 'No result has every note of the tune; the best come first.');
  }
  for (const [i, [candidate, ...same]] of shown.entries()) {
    lines.push('', ...candidateLines(source, candidate, i + 1, columns), ...sameLines(source, same, columns));
  }
  if (shown.length > 0) lines.push('', legend(style));
  return `${lines.join('\n')}\n`;
}

/** Groups candidates with the same tab, in the order of the best of each group. */
export function byTab(candidates: readonly Candidate[]): Candidate[][] {
  const groups = new Map<string, Candidate[]>();
  for (const candidate of candidates) {
    const tab = candidate.laid.choices.map((choice) => (choice ? formatTabNote(choice.note) : '?'));
    const id = [candidate.harp.tuning, ...tab].join(' ');
    groups.set(id, [...(groups.get(id) ?? []), candidate]);
  }
  return [...groups.values()];
}

/** Other harps on which the same tab plays the tune in another key. */
function sameLines({ tune }: ArrangeSource, same: readonly Candidate[], columns: number): string[] {
  if (same.length === 0) return [];
  const others = same.map(({ harp, transposeSemitones }, i) => {
    const name = `${harp.key} harp in ${KEY_NAMES[(((tune.tonic + transposeSemitones) % 12) + 12) % 12]}`;
    return i < same.length - 1 ? `${name},` : name;
  });
  return wrap(['the same tab on:', ...others], columns, INDENT);
}

function candidateLines(
  source: ArrangeSource,
  candidate: Candidate,
  rank: number,
  columns: number,
): string[] {
  const { tune, arrangement, played, style } = source;
  const { laid, layout } = candidate;
  const chords = chordsOf(tune, candidate);
  const lines = [
    `${rank}. ${harpInWords(candidate.harp.key, layout)}, ${positionName(candidate.position)}, ${moveInWords(candidate, tune)}`,
    `${INDENT}${bendsInWords(laid)}, difficulty ${points(candidate.cost)}${partsInWords(laid, candidate.cost)}${candidate.learning < 0.05 ? '' : `, plus ${points(candidate.learning)} to learn or buy`}`,
    ...hard(tune, laid, INDENT),
    ...missingLines(tune, candidate),
    ...chordLines(tune, chords, columns),
  ];
  if (arrangement.played && played) {
    lines.push(`${INDENT}${changesInWords(laid, arrangement.played, played)}`);
  }
  for (const [i, start] of tune.lineStarts.entries()) {
    const end = tune.lineStarts[i + 1] ?? tune.notes.length;
    const tab = laid.choices
      .slice(start, end)
      .map((choice, i) => (choice ? formatTabNote(chords[start + i]?.tab ?? choice.note, style) : '?'));
    lines.push(...wrap(tab, columns, `${INDENT}${INDENT}`));
  }
  return lines;
}

function hard(tune: Tune, laid: ArrangedTune, indent: string): string[] {
  return hardestNotes(tune, laid, HARD_NOTES).map(({ why }) => `${indent}hard: ${why}`);
}

function missingLines(tune: Tune, { laid }: Candidate): string[] {
  const missing = missingNotes(laid);
  if (missing.length === 0) return [];
  const named = missing
    .slice(0, MISSING_NAMED)
    .map((i) => `${noteName(tune.notes[i].midi, tune.tonic)} (${placeInWords(tune, i)})`);
  const rest = missing.length - named.length;
  return [`${INDENT}not playable: ${named.join('; ')}${rest > 0 ? `; and ${rest} more` : ''}`];
}

/** How many chords can be played in full, and the names of the notes that the others lose. */
function chordLines(tune: Tune, chords: readonly (LaidChord | null)[], columns: number): string[] {
  const laid = chords.flatMap((chord, i) => (chord === null ? [] : [{ ...chord, i }]));
  if (laid.length === 0) return [];
  const cut = laid.filter(({ lost }) => lost.length > 0);
  if (cut.length === 0)
    return [`${INDENT}chords: ${laid.length === 1 ? 'the one chord is' : `all ${laid.length} are`} complete`];
  const named = cut.slice(0, CHORDS_NAMED).map(({ lost, i }) => {
    const names = lost.map((midi) => noteName(midi, tune.tonic)).join(' and ');
    return `${names} (${placeInWords(tune, i)})`;
  });
  const rest = cut.length - named.length;
  const more = rest > 0 ? [`and those of ${rest} more`] : [];
  return wrap(
    `chords: ${laid.length - cut.length} of ${laid.length} complete; notes left out: ${[...named, ...more].join('; ')}`.split(
      ' ',
    ),
    columns,
    INDENT,
  );
}

/** `C harp, natural minor (printed G minor)`. */
export function harpInWords(key: string, layout: Layout): string {
  const printed = printedLabel(key, layout);
  return `${key} harp, ${layout.name}${printed === key ? '' : ` (printed ${printed})`}`;
}

function moveInWords({ transposeSemitones, octaveShift }: Candidate, tune: Tune): string {
  const key =
    transposeSemitones === 0 ? '' : `in ${KEY_NAMES[(((tune.tonic + transposeSemitones) % 12) + 12) % 12]}, `;
  const semitones =
    transposeSemitones === 0
      ? ''
      : `${counted(Math.abs(transposeSemitones), 'semitone')} ${transposeSemitones > 0 ? 'up' : 'down'}`;
  const octaves =
    octaveShift === 0
      ? ''
      : `${Math.abs(octaveShift) === 1 ? 'an octave' : `${Math.abs(octaveShift)} octaves`} ${octaveShift > 0 ? 'up' : 'down'}`;
  const moves = [semitones, octaves].filter((move) => move !== '').join(' and ');
  return `${key}${moves === '' ? 'same pitch' : moves}`;
}

/** What differs from what is played today. */
function changesInWords(laid: ArrangedTune, today: ArrangedTune, { tab }: PlayedOn): string {
  const moved = changedNotes(laid, tab);
  const bends = bendCount(laid) - bendCount(today);
  const change = bends < 0 ? 'fewer' : 'more';
  const fewer =
    bends === 0 ? '' : `, ${Math.abs(bends)} ${change} ${Math.abs(bends) === 1 ? 'bend' : 'bends'}`;
  return moved === 0
    ? 'played as it is now'
    : `compared with now: ${moved} of ${counted(tab.length, 'note')} played differently${fewer}`;
}

/** How many notes are bent. */
export function bendCount(laid: ArrangedTune): number {
  return laid.choices.filter((choice) => choice !== null && choice.note.bend > 0).length;
}

function bendsInWords(laid: ArrangedTune): string {
  const bends = bendCount(laid);
  const over = laid.choices.filter((choice) => choice?.note.over).length;
  return `${bends === 0 ? 'no bends' : counted(bends, 'bend')}${over === 0 ? '' : `, ${counted(over, 'overbend')}`}`;
}

/** Points of the whole tune by cause. */
export function partSums(laid: ArrangedTune): [keyof CostParts, number][] {
  const names: (keyof CostParts)[] = [
    'bend',
    'exposure',
    'overbend',
    'movement',
    'breath',
    'range',
    'chord',
    'missing',
  ];
  const { parts: all } = laid.prices();
  return names.map((name) => [name, all.reduce((sum, parts) => sum + parts[name], 0)]);
}

const PART_WORDS: Readonly<Record<keyof CostParts, string>> = {
  bend: 'bends',
  exposure: 'exposed bends',
  overbend: 'overbends',
  movement: 'moves and leaps',
  breath: 'breath',
  chord: 'chords that lose notes',
  range: 'high holes',
  missing: 'unplayable notes',
};

/** What makes up the cost, larger parts first; `total` may include more than the notes (another tuning). */
function partsInWords(laid: ArrangedTune, total: number): string {
  const parts = partSums(laid).map(([name, sum]) => ({ words: PART_WORDS[name], sum }));
  parts.push({ words: 'another tuning', sum: total - laid.cost });
  const told = parts.filter(({ sum }) => sum >= 0.05).sort((a, b) => b.sum - a.sum);
  return told.length === 0 ? '' : ` (${told.map(({ words, sum }) => `${words} ${points(sum)}`).join(', ')})`;
}

function wrap(words: readonly string[], columns: number, indent: string): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of words) {
    if (line !== '' && indent.length + line.length + 1 + word.length > columns) {
      lines.push(indent + line);
      line = '';
    }
    line += line === '' ? word : ` ${word}`;
  }
  return line === '' ? lines : [...lines, indent + line];
}

function points(sum: number): string {
  return sum.toFixed(1);
}
