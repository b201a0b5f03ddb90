import { soundingNotes } from '../../harp/playable.ts';
import { barTicks, TICKS_PER_BEAT } from '../../music/rhythm/metre.ts';
import { ornamentsInWords, ornamentsOf, shakeRate } from '../../tab/ornament.ts';
import { doubtInWords, faultsOf, isDoubtful } from '../../tab/remarks.ts';
import { formatTime } from '../../tab/sheet-time.ts';
import type { TabStyle } from '../../tab/text.ts';
import { escapeHtml } from '../../text/html.ts';
import type { Score, ScoreNote } from '../score.ts';
import { printed, printedTab } from '../sheet/system-block.ts';
import { startsBar, wordText } from '../tab.ts';
import { contourSvg } from './contour.ts';
import type { PlacedFindings } from './findings.ts';
import { tabId } from './harp.ts';
import type { PageSound, TeacherSound } from './options.ts';

/** A line of the tune, its notes as positions in the score. */
export interface PageLine {
  readonly first: number;
  readonly last: number;
  /** What it repeats, in words. */
  readonly remark: string | null;
  /** Position among the lines of the page, from 0. */
  readonly number: number;
  /** `3`, or `3a` for part of a long one. */
  readonly name: string;
}

/** What the notes of a page depend on. */
export interface LineOptions {
  readonly style: TabStyle;
  readonly sound: PageSound | null;
  readonly teacher: TeacherSound | null;
  /** Null when nothing was checked. */
  readonly placed: PlacedFindings | null;
  /** Whether doubts and faults are marked. */
  readonly faults: boolean;
  readonly hard: ReadonlyMap<number, string>;
  readonly lang: string;
  /** What the teacher says about the line. */
  readonly advice: string | undefined;
  /** The staff of the line as HTML; empty for none. */
  readonly staff: string;
}

/** One line to practise: its tab over its words, what the teacher says, and its staff and pitch. */
export function lineHtml(score: Score, line: PageLine, options: LineOptions): string {
  const { first, last, number } = line;
  const { style, sound, placed, teacher, advice } = options;
  const notes = score.notes.slice(first, last + 1);
  const from = notes[0].played.onsetSec;
  const to = notes[notes.length - 1].played.offsetSec;
  const name = `Line ${line.name}`;
  const verses = Array.from({ length: score.verses }, (_, verse) => verse).filter((verse) =>
    notes.some(({ sung }) => sung[verse] !== undefined),
  );
  const doneRow = notes.some(({ played }) => ornamentsInWords(played).length > 0);
  const items = notes.map((note, i) => {
    const bar = startsBar(score, note.index, i === 0) ? ' class="barline"' : '';
    const missed = missedHtml(placed?.before.get(note.index));
    return `${missed}<li${bar}>${noteHtml(score, note, verses, doneRow, options)}</li>${missedHtml(placed?.after.get(note.index))}`;
  });
  const pitch = contourSvg(
    score,
    notes,
    sound?.contours ?? null,
    style,
    `${name}: pitch over time on the rows of the harp`,
  );
  const heard = teacher?.lines[number];
  const beside = heard ? ` data-tfrom="${heard.fromSec}" data-tto="${heard.toSec}"` : '';
  const section = notes[0].section ?? '';
  const about = [section, formatTime(from).slice(1, -1), repeatInShort(line.remark)].filter(
    (text) => text !== '',
  );
  return `<li class="line" data-line="${number}" data-from="${from}" data-to="${to}" data-at="${beatOf(score, notes[0])}"${beside}>
<div class="head"><button class="pick" type="button" aria-label="${name}, play">${name}</button><span class="soft">${escapeHtml(about.join(' · '))}</span></div>
${advice === undefined ? '' : `<p class="advice"><b>Your teacher:</b> ${escapeHtml(advice)}</p>`}<ol class="tab">${items.join('')}</ol>
<div class="views">${options.staff}${pitch}</div></li>`;
}

/** `# 3 (A'): as line 1, but note 7 is -3''` becomes `nearly as line 1`, since the difference can be seen. */
function repeatInShort(remark: string | null): string {
  const [, as, but] = /: (as line \d+)(, but )?/.exec(remark ?? '') ?? [];
  return as === undefined ? '' : `${but === undefined ? '' : 'nearly '}${as}`;
}

/** Beats of the metre in its bar before a note; 0 in free time. */
function beatOf({ beats }: Score, { atTicks }: ScoreNote): number {
  if (beats.metre === null) return 0;
  const inBar = (atTicks % barTicks(beats.metre)) / ((4 * TICKS_PER_BEAT) / beats.metre.unit);
  return Math.round(1000 * inBar) / 1000;
}

/** Missed notes, where they should have come. */
function missedHtml(missed: readonly string[] = []): string {
  return missed
    .map((text) => `<li class="missed"><span class="fault">${escapeHtml(text)}</span></li>`)
    .join('');
}

const hidden = (text: string) => `<span class="unseen">${escapeHtml(text)}</span>`;

function noteHtml(
  score: Score,
  note: ScoreNote,
  verses: readonly number[],
  doneRow: boolean,
  { style, placed, hard, lang, faults }: LineOptions,
): string {
  const { played, index } = note;
  const why = hard.get(index);
  const words = verses.map((verse) => {
    const sung = note.sung[verse];
    const of = (sung?.kind === 'begin' ? sung.lang : null) ?? lang;
    return `<span class="word" lang="${of}">${escapeHtml(wordText(note, verse)) || '&nbsp;'}</span>`;
  });
  // If one note of the line has such words, all get the row, so that the syllables stay level.
  const done = doneRow
    ? [`<span class="done">${escapeHtml(ornamentsInWords(played).join(', ')) || '&nbsp;'}</span>`]
    : [];
  const marks = marksOf(note, style, faults, placed).map(
    (mark) => `<span class="fault">${escapeHtml(mark)}</span>`,
  );
  const content = [
    hidden(inWords(note)),
    `<b aria-hidden="true">${escapeHtml(printedTab(note, style))}</b>`,
    ...done,
    ...words,
    ...marks,
    ...(why === undefined ? [] : [hidden(`hard: ${why}`)]),
  ];
  const reeds = soundingNotes(score.harp, played);
  const hz = reeds.length === 0 ? [played.f0Hz] : reeds.map(({ f0Hz }) => f0Hz);
  const tabs = reeds.length === 0 ? [played] : reeds;
  const shake = played.shake ? ` data-shake="${shakeRate(played)}"` : '';
  return `<button class="note${why === undefined ? '' : ' tough'}" type="button" tabindex="${index === 0 ? 0 : -1}" data-n="${index}" data-on="${played.onsetSec}" data-off="${played.offsetSec}" data-hz="${hz.map((each) => each.toFixed(2)).join(' ')}"${shake} data-tab="${tabs.map(tabId).join(' ')}">${content.join('')}</button>`;
}

/** A check has already compared faults with its reference; those that it let pass are not shown. */
function marksOf(
  { played }: ScoreNote,
  style: TabStyle,
  faults: boolean,
  placed: PlacedFindings | null,
): readonly string[] {
  const doubt = faults && isDoubtful(played) ? [printed(doubtInWords(played, style))] : [];
  if (placed !== null) return [...doubt, ...(placed.byNote.get(played.id) ?? [])];
  return faults ? [...doubt, ...faultsOf(played)] : [];
}

/** A note as a teacher would say it: `3 draw, bent 2 semitones, scooped into`; `4 and 5 draw, shake`. */
function inWords({ played }: ScoreNote): string {
  const { hole, breath, bend, over, holes, holeBends, shake } = played;
  const which = holes === undefined ? String(hole) : `${holes.slice(0, -1).join(', ')} and ${holes.at(-1)}`;
  const bent = (holeBends ?? [bend]).flatMap((by, i) =>
    by === 0 ? [] : `${holes === undefined ? '' : `${holes[i]} `}bent ${by} semitone${by > 1 ? 's' : ''}`,
  );
  const together = holes === undefined ? [] : [shake ? 'shake' : 'together'];
  const signs = ornamentsOf(played).flatMap(({ kind }) => SAID[kind] ?? []);
  return [`${which} ${over ? 'over' : ''}${breath}`, ...bent, ...together, ...signs].join(', ');
}

/** Ornaments that tab has a sign for; the others are written below it in words. */
const SAID: Readonly<Partial<Record<string, string>>> = {
  scoop: 'scooped into',
  fall: 'falls off',
  vibrato: 'vibrato',
};
