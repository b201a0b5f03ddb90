import type { Phrase } from '../phrases.ts';
import { type Alignment, alignLines, type NoteCosts, type Placed } from './align.ts';
import { noteCosts, type SungNote } from './costs.ts';
import { firstPass } from './first-pass.ts';
import { type Form, formsOf, namesOf } from './form.ts';
import type { LanguageCode } from './languages.ts';
import { type AlignedLine, remarksOn } from './remarks.ts';
import type { SungSyllable, Verse } from './verses.ts';

/** A syllable and its note. */
interface AlignedSyllable {
  /** Row of words under the notes, from 1; verses that are played one after the other share a row. */
  readonly verse: number;
  readonly text: string;
  readonly syllabic: SungSyllable['syllabic'];
  /** Position of its note; null if none was left, and it is then printed after the tab. */
  readonly note: number | null;
  /** How many more notes it is held through. */
  readonly holds: number;
  /** Its language, if each stanza is split by its own. */
  readonly lang?: LanguageCode;
}

/** A stanza and the notes it is sung to. */
interface AlignedStanza extends Phrase {
  /** `verse 2`, `refrain`; `verses 1 to 3` if they share their notes. */
  readonly name: string;
}

export interface AlignedWords {
  /** By row, in reading order; every syllable of the text. */
  readonly syllables: readonly AlignedSyllable[];
  /** Stanzas of the first row that have notes, in order. */
  readonly stanzas: readonly AlignedStanza[];
  /** Lines of the first row as phrases, each extending to the start of the next; empty if few words have notes. */
  readonly lines: readonly Phrase[];
  /** Sentences for the player on where words and notes differ in number. */
  readonly remarks: readonly string[];
}

/** Words count as evidence for phrases if at least this share of them have notes. */
const FITTING_SHARE = 0.85;
/** Lines longer than this on average are not phrases: a whole verse was written on one line. */
const LONGEST_LINES_NOTES = 32;
/** In rows below the first, a line that does not begin where a line of the row above does costs this. */
const OTHER_LINE_START = 3.5;
/** Limit on syllables times notes in one alignment. */
const MOST_CELLS = 16_000_000;

interface AlignedRow {
  readonly stanzas: readonly { readonly verse: Verse; readonly lines: readonly AlignedLine[] }[];
}

/**
 * Lays words under the notes of a whole take, one syllable per note. The evidence of lines, syllables, marked holds, breaks,
 * note lengths, places in the bar and how notes begin is weighed together (`alignLines`). Verses played one after the other
 * each get their own notes, verses for which the tune was played once share them, and a refrain goes wherever it was
 * played. Of all such forms the likeliest is used.
 */
export function alignWords(
  verses: readonly Verse[],
  notes: readonly SungNote[],
  phrases: readonly Phrase[],
): AlignedWords {
  if (verses.length === 0 || notes.length === 0) return unlaid(verses);
  const rows = alignForms(formsOf(verses), notes, noteCosts(notes, phrases));
  return {
    syllables: rows.flatMap(({ stanzas }, row) =>
      stanzas.flatMap(({ lines }) => syllablesOf(lines, row + 1)),
    ),
    stanzas: stanzasOf(rows, notes.length),
    lines: linesAsPhrases(rows, notes.length, phrases),
    remarks: remarksOn(
      rows.map(({ stanzas }) => stanzas.map(({ verse, lines }) => ({ name: verse.name, lines }))),
      notes.length,
    ),
  };
}

function unlaid(verses: readonly Verse[]): AlignedWords {
  const syllables = verses.flatMap(({ lines }) =>
    lines.flat().map((syllable) => ({ ...printedOf(syllable), verse: 1, note: null, holds: 0 })),
  );
  return { syllables, stanzas: [], lines: [], remarks: [] };
}

/** The likeliest form, sung to the first pass of its melody. */
function alignForms(
  forms: readonly Form[],
  notes: readonly SungNote[],
  costs: readonly NoteCosts[],
): AlignedRow[] {
  let best: { cost: number; rows: AlignedRow[] } | null = null;
  let bestForm: Form | null = null;
  for (const form of forms) {
    const laid = alignForm(form, costs, null);
    if (best !== null && laid.cost >= best.cost) continue;
    best = laid;
    bestForm = form;
  }
  if (best === null || bestForm === null) return [];
  const placed = best.rows[0].stanzas.flatMap(({ lines }) => lines.flatMap((line) => line.placed));
  const first = firstNoteOf(placed);
  const last = placed.findLast(({ note }) => note !== null);
  if (first === null || last?.note == null) return best.rows;
  const from = firstPass(notes, first, last.note + last.holds, bestForm.passes);
  return from === first ? best.rows : alignForm(bestForm, costs, from).rows;
}

/** @param from  note that the first line begins with; null if it may begin with any */
function alignForm(
  form: Form,
  costs: readonly NoteCosts[],
  from: number | null,
): { cost: number; rows: AlignedRow[] } {
  const first = alignStanzas(form.sung, costs.slice(from ?? 0), from ?? 0, from !== null);
  const rows: AlignedRow[] = [{ stanzas: first.stanzas }];
  let { cost } = first;
  const verses = first.stanzas.filter(({ verse }) => verse.kind === 'verse');
  for (const row of form.below) {
    const stanzas: AlignedRow['stanzas'][number][] = [];
    for (const { verse, under } of row) {
      const above = verses[under];
      const [start, end] = reachOf(first.stanzas, first.stanzas.indexOf(above), costs.length);
      const laid = alignStanzas([verse], asAbove(costs, above.lines).slice(start, end), start, false);
      cost += laid.cost;
      stanzas.push(...laid.stanzas);
    }
    rows.push({ stanzas });
  }
  return { cost, rows };
}

/** Costs that draw the lines of a row to the starts of lines in the row above, and its syllables to those above. */
function asAbove(costs: readonly NoteCosts[], above: readonly AlignedLine[]): NoteCosts[] {
  const starts = new Set(above.map(({ placed }) => firstNoteOf(placed)));
  const drawn: NoteCosts[] = costs.map((cost, i) => ({
    ...cost,
    line: starts.has(i) ? 0 : cost.line + OTHER_LINE_START,
  }));
  for (const { syllables, placed } of above) {
    for (const [i, { note }] of placed.entries()) {
      if (note !== null) drawn[note] = { ...drawn[note], above: syllables[i] };
    }
  }
  return drawn;
}

/** The notes of a stanza: from its first up to, but not including, the first of the next stanza that has notes. */
function reachOf(stanzas: AlignedRow['stanzas'], index: number, count: number): [from: number, to: number] {
  const startOf = (at: number) => {
    for (const { placed } of stanzas[at].lines) {
      const note = firstNoteOf(placed);
      if (note !== null) return note;
    }
    return null;
  };
  const from = startOf(index);
  if (from === null) return [count, count];
  for (let next = index + 1; next < stanzas.length; next++) {
    const to = startOf(next);
    if (to !== null) return [from, to];
  }
  return [from, count];
}

function firstNoteOf(placed: readonly Placed[]): number | null {
  return placed.find(({ note }) => note !== null)?.note ?? null;
}

/** Lays stanzas one after the other under a stretch of notes; marked holds count only if these stanzas have some. */
function alignStanzas(
  verses: readonly Verse[],
  costs: readonly NoteCosts[],
  firstNote: number,
  begins: boolean,
): { cost: number; stanzas: AlignedRow['stanzas'][number][] } {
  const lines = verses.flatMap((verse) => verse.lines);
  const fitting = linesThatFit(lines, costs.length);
  const marked = lines.some((line) => line.some(({ holds }) => holds > 0));
  const starts = new Set<number>();
  for (let i = 0, at = 0; i < verses.length; at += verses[i++].lines.length) starts.add(at);
  const { cost, lines: placed }: Alignment = alignLines(
    lines.slice(0, fitting),
    costs,
    marked,
    starts,
    begins,
  );
  let at = 0;
  const stanzas = verses.map((verse) => ({
    verse,
    lines: verse.lines.map((syllables): AlignedLine => {
      const own = placed[at++] ?? syllables.map(() => ({ note: null, holds: 0, joined: false }));
      return {
        syllables,
        placed: own.map((each) => ({ ...each, note: each.note === null ? null : each.note + firstNote })),
      };
    }),
  }));
  return { cost, stanzas };
}

/** How many lines to lay: all of them, unless the text is out of all proportion to the notes. */
function linesThatFit(lines: readonly (readonly SungSyllable[])[], notes: number): number {
  let cells = 0;
  const over = lines.findIndex(({ length }) => {
    cells += length * (notes + 1);
    return cells > MOST_CELLS;
  });
  return over < 0 ? lines.length : over;
}

/** Syllables as they are printed: those that share a note are joined. */
function syllablesOf(lines: readonly AlignedLine[], verse: number): AlignedSyllable[] {
  const laid: AlignedSyllable[] = [];
  for (const { syllables, placed } of lines) {
    for (const [i, syllable] of syllables.entries()) {
      const { note, holds, joined } = placed[i];
      const last = laid[laid.length - 1];
      if (!joined || last === undefined) laid.push({ verse, ...printedOf(syllable), note, holds });
      else laid[laid.length - 1] = joinedSyllable(last, syllable);
    }
  }
  return laid;
}

function printedOf({
  text,
  syllabic,
  lang,
}: SungSyllable): Pick<AlignedSyllable, 'text' | 'syllabic' | 'lang'> {
  return { text, syllabic, ...(lang === undefined ? {} : { lang }) };
}

function joinedSyllable(last: AlignedSyllable, { text, syllabic }: SungSyllable): AlignedSyllable {
  const inWord = syllabic === 'middle' || syllabic === 'end';
  const begins = last.syllabic === 'single' || last.syllabic === 'begin';
  const goesOn = syllabic === 'begin' || syllabic === 'middle';
  return {
    ...last,
    text: `${last.text}${inWord ? '' : ' '}${text}`,
    syllabic: begins ? (goesOn ? 'begin' : 'single') : goesOn ? 'middle' : 'end',
  };
}

function stanzasOf([first, ...below]: readonly AlignedRow[], count: number): AlignedStanza[] {
  const stanzas = first?.stanzas ?? [];
  let verses = -1;
  return stanzas.flatMap(({ verse: { name, kind } }, index) => {
    if (kind === 'verse') verses++;
    const under = kind === 'verse' ? below.flatMap((row) => row.stanzas[verses]?.verse.name ?? []) : [];
    const [from, to] = reachOf(stanzas, index, count);
    return to > from ? [{ name: namesOf([name, ...under]), firstNote: from, lastNote: to - 1 }] : [];
  });
}

/** If a phrase goes on after its words for no more notes than this, they end the line instead of being one of their own. */
const SHORTEST_REST = 2;

/**
 * The lines of the words as phrases. Notes before the first line, and notes that no line reaches, keep the phrases found
 * there.
 */
function linesAsPhrases(rows: readonly AlignedRow[], count: number, phrases: readonly Phrase[]): Phrase[] {
  const lines = (rows[0]?.stanzas ?? []).flatMap((stanza) => stanza.lines);
  const all = lines.flatMap(({ placed }) => placed).filter(({ joined }) => !joined);
  const laid = all.filter(({ note }) => note !== null).length;
  if (all.length === 0 || laid < FITTING_SHARE * all.length) return [];
  const spans = lines.flatMap(({ placed }): Phrase[] => {
    const firstNote = firstNoteOf(placed);
    const last = placed.findLast(({ note }) => note !== null);
    return firstNote === null || last?.note == null ? [] : [{ firstNote, lastNote: last.note + last.holds }];
  });
  const sungNotes = spans.reduce((sum, { firstNote, lastNote }) => sum + lastNote - firstNote + 1, 0);
  if (sungNotes > LONGEST_LINES_NOTES * spans.length) return [];
  const whole: Phrase[] = [];
  let next = 0;
  const fill = (to: number) => {
    for (const { firstNote, lastNote } of phrases) {
      const from = Math.max(firstNote, next);
      const end = Math.min(lastNote, to - 1);
      const before = whole.at(-1);
      if (from > end) continue;
      if (before !== undefined && from > firstNote && end - from < SHORTEST_REST)
        whole[whole.length - 1] = { ...before, lastNote: end };
      else whole.push({ firstNote: from, lastNote: end });
    }
    next = to;
  };
  for (const span of spans) {
    if (span.firstNote > next) fill(span.firstNote);
    whole.push(span);
    next = span.lastNote + 1;
  }
  if (next < count) fill(count);
  return whole;
}
