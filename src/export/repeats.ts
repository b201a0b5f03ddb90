import { sameTab, type TabNote } from '../tab/tab-note.ts';
import { formatTabNote, type TabStyle } from '../tab/text.ts';
import { lineStarts } from './notation/lines.ts';
import type { Score } from './score.ts';

/** How to write a line that repeats an earlier one note for note. */
export type Repeats = 'full' | 'once';

/** A line of a sheet: a phrase, or notes outside all phrases. */
export interface Line {
  readonly first: number;
  readonly last: number;
  /** Number, letter and section of the line, and what it repeats: `3 (A), verse 2, line 1: as line 1`; null outside phrases. */
  readonly remark: string | null;
  /** Number of the line that it repeats note for note; null for none. */
  readonly same: number | null;
  /** Position in the phrases of the take; null outside them. */
  readonly index: number | null;
}

/** Lines that are shown together: one, or several that repeat as many lines in a row. */
export interface LineGroup extends Line {
  readonly lines: readonly Line[];
}

const OUTSIDE = { remark: null, same: null, index: null };

/** Phrases with what they repeat; notes outside phrases make lines of their own. */
export function phrasesOf({ take, notes }: Score, style: TabStyle): Line[] {
  const lines: Line[] = [];
  let next = 0;
  for (const [index, { firstNote, lastNote }] of take.phrases.entries()) {
    if (firstNote > next) lines.push({ ...OUTSIDE, first: next, last: firstNote - 1 });
    const first = Math.max(firstNote, next);
    if (lastNote < first) continue;
    const { like } = take.phrases[index];
    const same = like && like.differences.length === 0 ? like.phrase + 1 : null;
    lines.push({ first, last: lastNote, remark: repeatInWords(take, index, style), same, index });
    next = lastNote + 1;
  }
  if (next < notes.length) lines.push({ ...OUTSIDE, first: next, last: notes.length - 1 });
  return lines;
}

/**
 * The lines of a sheet that writes repeats once: lines of one section that repeat consecutive lines form one group,
 * such as `5 to 8 (A B C D), refrain: as lines 1 to 4`. Each of the others is a group of its own.
 */
export function groupsToldOnce(score: Score, style: TabStyle): LineGroup[] {
  const groups: Line[][] = [];
  for (const line of phrasesOf(score, style)) {
    const group = groups[groups.length - 1];
    const before = group?.[group.length - 1];
    const goesOn =
      before !== undefined &&
      before.same !== null &&
      line.same === before.same + 1 &&
      line.index !== null &&
      line.index - 1 === before.index &&
      score.take.phrases[line.index].name === undefined;
    if (goesOn) group.push(line);
    else groups.push([line]);
  }
  return groups.map((lines) => {
    const [line] = lines;
    const last = lines[lines.length - 1];
    if (lines.length === 1) return { ...line, lines };
    const remark = groupInWords(score.take.phrases, [Number(line.index), Number(last.index)]);
    return { ...line, last: last.last, remark: `${remark}: as lines ${line.same} to ${last.same}`, lines };
  });
}

/** A group in words: `5 to 8 (A B C D), refrain`, or `6 to 8 (B C D), refrain, lines 2 to 4`. */
function groupInWords(
  phrases: Score['take']['phrases'],
  [first, last]: readonly [first: number, last: number],
): string {
  const labels = phrases.slice(first, last + 1).map(({ label }) => label);
  const head = `${first + 1} to ${last + 1} (${labels.join(' ')})`;
  const from = sectionLine(phrases, first);
  if (from === null) return head;
  const isWhole =
    from.line === 1 && (phrases[last + 1] === undefined || phrases[last + 1].name !== undefined);
  return `${head}, ${from.section}${isWhole ? '' : `, lines ${from.line} to ${from.line + last - first}`}`;
}

/** A line as it is shown: a phrase, or a part of a long one. */
export interface ShownLine extends Line {
  /** `3`, or `3a` for part of a long one. */
  readonly name: string;
  /** Position of the phrase among `phrasesOf`, and whether this is its beginning. */
  readonly phrase: number;
  readonly begins: boolean;
}

/** The lines of a sheet or a page: long phrases are broken (see `lineStarts`), with their remark at the first line. */
export function linesOf(score: Score, style: TabStyle): ShownLine[] {
  return phrasesOf(score, style).flatMap((line, phrase) => {
    const starts = [line.first, ...lineStarts(score, line.first, line.last)];
    return starts.map((first, part) => ({
      first,
      last: (starts[part + 1] ?? line.last + 1) - 1,
      remark: part === 0 ? line.remark : null,
      same: starts.length === 1 ? line.same : null,
      index: line.index,
      name: `${phrase + 1}${starts.length === 1 ? '' : letterOf(part)}`,
      phrase,
      begins: part === 0,
    }));
  });
}

/** a, b, … z, aa, ab, … */
const letterOf = (part: number): string =>
  `${part >= 26 ? letterOf(Math.floor(part / 26) - 1) : ''}${String.fromCharCode(97 + (part % 26))}`;

/** A repeat in words: `3 (A'): as line 1, but note 7 is -3'' (there -3)`, with tab in the style of the sheet. */
function repeatInWords(take: Score['take'], index: number, style: TabStyle): string | null {
  const { label, like, firstNote } = take.phrases[index];
  if (label === undefined) return null;
  const section = sectionOf(take.phrases, index);
  const head = `${index + 1} (${label})${section === null ? '' : `, ${section}`}`;
  if (like === null || like === undefined) return head;
  const model = take.phrases[like.phrase];
  const told = differencesInWords(take, like.differences, [firstNote, model.firstNote], style);
  const but = told === '' ? '' : `, but ${told}`;
  return `${head}: as line ${like.phrase + 1}${but}`;
}

interface SectionLine {
  readonly section: string;
  /** Number in its section, 1 for the first. */
  readonly line: number;
}

/** The place of a line in its section; null if none was named. */
export function sectionLine(phrases: Score['take']['phrases'], index: number): SectionLine | null {
  for (let first = index; first >= 0; first--) {
    const { name } = phrases[first];
    if (name !== undefined) return { section: name, line: index - first + 1 };
  }
  return null;
}

/** `verse 2, line 3`; null if no section was named. */
function sectionOf(phrases: Score['take']['phrases'], index: number): string | null {
  const place = sectionLine(phrases, index);
  return place === null ? null : `${place.section}, line ${place.line}`;
}

/** Where a verse, or another repeated section, differs from the first of its kind, in sentences. */
export function variationsInWords({ take }: Score, style: TabStyle): string[] {
  return take.phrases.flatMap(({ like, firstNote }, index) => {
    if (!like || like.differences.length === 0) return [];
    const here = sectionLine(take.phrases, index);
    const there = sectionLine(take.phrases, like.phrase);
    if (here === null || there === null) return [];
    if (here.line !== there.line || kindOf(here) !== kindOf(there)) return [];
    const told = differencesInWords(
      take,
      like.differences,
      [firstNote, take.phrases[like.phrase].firstNote],
      style,
    );
    return [`${here.section}, line ${here.line} differs from ${there.section}: ${told}`];
  });
}

/** `verse` of `verse 2` and of `verses 2 and 4`. */
const kindOf = ({ section }: SectionLine): string =>
  section.replace(/^verses \d.*$/, 'verse').replace(/\s*\d+$/, '');

type Difference = NonNullable<NonNullable<Score['take']['phrases'][number]['like']>['differences']>[number];

/** Groups consecutive differences of one kind. */
function runsOf(differences: readonly Difference[]): Difference[][] {
  const runs: Difference[][] = [];
  for (const difference of differences) {
    const run = runs[runs.length - 1];
    const last = run?.[run.length - 1];
    const follows =
      last?.kind === difference.kind &&
      (difference.note ?? 0) - (last.note ?? -1) === 1 &&
      difference.kind !== 'missing';
    const missingToo =
      last?.kind === 'missing' &&
      difference.kind === 'missing' &&
      Number(difference.other) - Number(last.other) === 1;
    if (follows || missingToo) run.push(difference);
    else runs.push([difference]);
  }
  return runs;
}

function differencesInWords(
  take: Score['take'],
  differences: readonly Difference[],
  firsts: readonly [here: number, there: number],
  style: TabStyle,
): string {
  return runsOf(differences)
    .map((run) => differenceInWords(take, run, firsts, style))
    .join('; ');
}

function differenceInWords(
  take: Score['take'],
  run: readonly Difference[],
  [first, modelFirst]: readonly [here: number, there: number],
  style: TabStyle,
): string {
  const tab = (of: 'note' | 'other') =>
    run.map((difference) => formatTabNote(take.notes[Number(difference[of])], style)).join(' ');
  const place = (of: 'note' | 'other') => {
    const from = Number(run[0][of]) - (of === 'note' ? first : modelFirst) + 1;
    return run.length === 1 ? `note ${from}` : `notes ${from} to ${from + run.length - 1}`;
  };
  const verb = run.length === 1 ? 'is' : 'are';
  const held = heldInWords(take, run, style);
  if (held !== null)
    return `${held} (${place(run[0].kind === 'missing' ? 'other' : 'note')}${run[0].kind === 'missing' ? ' there' : ''})`;
  switch (run[0].kind) {
    case 'changed':
      return `${place('note')} ${verb} ${tab('note')} (there ${tab('other')})`;
    case 'added':
      return `${place('note')} ${verb} added (${tab('note')})`;
    case 'missing':
      return `${tab('other')} ${verb} left out (${place('other')} there)`;
  }
}

/**
 * Words for a note that is held where the other line strikes it again, or the other way round; null for other
 * differences.
 */
function heldInWords(take: Score['take'], run: readonly Difference[], style: TabStyle): string | null {
  const [{ kind }] = run;
  if (kind === 'changed') return null;
  const places = run.map(({ note, other }) => Number(kind === 'added' ? note : other));
  const beside = [take.notes[places[0] - 1], take.notes[places[places.length - 1] + 1]];
  const own = take.notes[places[0]];
  const isSame = (note: TabNote | undefined) => note !== undefined && sameTab(note, own);
  if (!beside.some(isSame) || !places.every((place) => isSame(take.notes[place]))) return null;
  const tab = formatTabNote(own, style);
  return kind === 'missing'
    ? `${tab} is held`
    : `${tab} is struck ${run.length === 1 ? 'twice' : `${run.length + 1} times`}`;
}
