import { type ExportFormat, FORMATS, type FormatName } from '../../export/formats.ts';
import type { Score } from '../../export/score.ts';

/** Bar lines less sure than this are remarked on. */
const GUESS_BELOW = 0.7;

/** Remarks on a score before it is written. */
export function remarksOn({ beats, leftOver, notes }: Score, formats: readonly FormatName[]): string[] {
  return [
    ...guessRemark(beats),
    ...tempoRemark(beats),
    ...longRemark(notes.length, formats),
    ...(leftOver.length > 0 ? [leftOverRemark(leftOver.length, formats)] : []),
  ];
}

/** A staff takes some 3 ms per note; from this many on, the player is told before it is drawn. */
const MANY_NOTES = 5000;
const ON_STAFF: ReadonlySet<FormatName> = new Set(['pdf', 'svg', 'html']);

/** Announces work so long that it might seem stuck. */
function longRemark(notes: number, formats: readonly FormatName[]): string[] {
  const drawn = formats.filter((format) => ON_STAFF.has(format));
  if (notes <= MANY_NOTES || drawn.length === 0) return [];
  return [
    `${notes.toLocaleString('en')} notes on a staff take a while (${drawn.join(', ')}): a minute for 20,000, more on a slow computer`,
  ];
}

/** Says if bar lines are doubtful, and which options could help. */
function guessRemark({ metre, confidence, given }: Score['beats']): string[] {
  const unsaid = [
    ...(given?.metre === undefined ? ['--metre'] : []),
    ...(given?.pickupTicks === undefined ? ['--pickup'] : []),
    ...(given?.tempoBpm === undefined ? ['--bpm'] : []),
  ];
  if (metre === null || confidence >= GUESS_BELOW || unsaid.length === 0) return [];
  const sure = Math.round(100 * confidence);
  return [
    `the bar lines are a guess (${sure} % sure): help with ${inWords(unsaid)}, or write it with --free`,
  ];
}

/** A given tempo this far from the one played is remarked on. */
const OTHER_TEMPO = 0.05;

/** Says if a take was played at another tempo than the player said. */
function tempoRemark({ metre, tempoBpm, given }: Score['beats']): string[] {
  const told = given?.tempoBpm;
  if (metre === null || told === undefined || Math.abs(tempoBpm / told - 1) <= OTHER_TEMPO) return [];
  return [
    `played at ${Math.round(tempoBpm)} quarter notes a minute on average, not ${told}; the tempo written is the one played`,
  ];
}

function inWords(options: readonly string[]): string {
  return options.length === 1 ? options[0] : `${options.slice(0, -1).join(', ')} or ${options.at(-1)}`;
}

/** Says where words without a note are written. */
function leftOverRemark(syllables: number, formats: readonly FormatName[]): string {
  const found = `${syllables} ${syllables === 1 ? 'syllable has' : 'syllables have'} no note`;
  const without = formats.filter((format) => (FORMATS[format] as ExportFormat).onlyUnderNotes);
  if (without.length === 0) return `${found}; they stand after the tab`;
  return `${found}; not in ${without.join(', ')}, but after the tab in tab, abc and html`;
}
