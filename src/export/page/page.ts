import { findPlayable } from '../../harp/playable.ts';
import type { ContourPoint } from '../../measure/pitch-contour.ts';
import { guessLanguage } from '../../music/words/guess-language.ts';
import type { Mp3 } from '../../sound/mp3.ts';
import { faultsOf, isDoubtful } from '../../tab/remarks.ts';
import { formatTime } from '../../tab/sheet-time.ts';
import { formatTabNote, legend, type TabStyle } from '../../tab/text.ts';
import { printSyllable } from '../../take/words.ts';
import { escapeHtml } from '../../text/html.ts';
import { sizeInWords } from '../../text/size.ts';
import { hardSpots } from '../hard-spots.ts';
import { headInWords } from '../head.ts';
import { leftOverInWords, type Score, type ScoreNote } from '../score.ts';
import type { Engraving } from '../sheet/engraving.ts';
import { linesOfVerse } from '../sheet/pages.ts';
import { phrasesOf, startsBar, wordText } from '../tab.ts';
import { contourSvg } from './contour.ts';
import { controlsHtml } from './controls.ts';
import { drillsHtml } from './drills.ts';
import {
  findingsHtml,
  type PageFindings,
  type PlacedFindings,
  placeFindings,
  summaryHtml,
} from './findings.ts';
import { harpHtml, tabId } from './harp.ts';
import { PAGE_SCRIPT } from './script.ts';
import { glyphsHtml, staffHtml } from './staff.ts';
import { PAGE_STYLE } from './style.ts';

/** The recording as a page embeds it. */
export interface PageSound extends Mp3 {
  /** By note: the measured pitch over time. */
  readonly contours: readonly (readonly ContourPoint[])[];
}

/** The teacher's recording beside the pupil's, and where in it each line of the tune is; null where it isn't. */
export interface TeacherSound {
  readonly name: string;
  readonly sound: Mp3;
  readonly lines: readonly ({ readonly fromSec: number; readonly toSec: number } | null)[];
}

export interface PageOptions {
  readonly style: TabStyle;
  /** Null leaves the recording and measured contours out: the tab itself is the sound then. */
  readonly sound: PageSound | null;
  /** The staff; null leaves it out. */
  readonly staff: Engraving | null;
  /** What `check` found; null when nothing was checked. */
  readonly findings: PageFindings | null;
  /** Who the tune is by; null or missing for nothing. */
  readonly by?: string | null;
  /** What the teacher says to a line, the first at 0. */
  readonly advice?: ReadonlyMap<number, string>;
  readonly teacher?: TeacherSound | null;
}

/** One tune, or one way of playing it, on a page. */
export interface PagePiece extends PageOptions {
  readonly score: Score;
}

/** What the notes of a page need to know. */
interface NoteOptions extends Pick<PageOptions, 'style' | 'sound'> {
  readonly placed: PlacedFindings | null;
  readonly hard: ReadonlyMap<number, string>;
  readonly lang: string;
}

/** Nothing is loaded from anywhere: all that the page needs is in it. */
const POLICY =
  "default-src 'none'; media-src data: blob:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";

/** A take as one page that opens without a network, to practise from: line by line, with everything that sounds. */
export function writeHtml(score: Score, options: PageOptions): string {
  return writePage(score.title, [{ score, ...options }]);
}

/** One or several pieces as one page. */
export function writePage(title: string, pieces: readonly PagePiece[]): string {
  const several = pieces.length > 1;
  const sections = pieces.map((piece, place) => pieceHtml(piece, place, several));
  const contents = pieces.map(
    ({ score }, place) => `<li><a href="#piece${place}">${escapeHtml(score.title)}</a></li>`,
  );
  const controls = controlsHtml({
    recording: pieces.some(({ sound }) => sound !== null),
    teacher: pieces.some(({ teacher }) => teacher),
    staff: pieces.some(({ staff }) => staff !== null),
  });
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${escapeHtml(title)}</title>
<style>${PAGE_STYLE}</style>
</head>
<body>
<header>
<h1>${escapeHtml(title)}</h1>
${several ? `<nav aria-label="Contents"><ol>${contents.join('')}</ol></nav>` : ''}<p class="soft">${escapeHtml(legend(pieces[0]?.style ?? 'signs'))}</p>
<p class="soft screen">Tap a line to hear it, a note to hear it alone. Loop repeats, Slow slows down at the same pitch. On headphones keep the level moderate; rest when you run out of breath.</p>
</header>
${glyphsHtml(pieces.map(({ staff }) => staff))}
<main>
${sections.join('\n')}
</main>
${controls}<script>${PAGE_SCRIPT}</script>
</body>
</html>
`;
}

function pieceHtml(piece: PagePiece, place: number, several: boolean): string {
  const { score, style, sound, findings, advice, teacher, by } = piece;
  const placed = findings === null ? null : placeFindings(score, findings.findings);
  const hard = hardSpots(score);
  const lang = languageOf(score);
  const lines = phrasesOf(score, style).map(({ first, last, remark }, i) =>
    lineHtml(piece, { first, last, remark, number: i }, { style, sound, placed, hard, lang }, advice?.get(i)),
  );
  const facts = [...headInWords(score), ...(by ? [by] : [])].join(' · ');
  const beats = score.beats.metre;
  const size =
    sound === null ? '' : `The recording is in this page as MP3 (${sizeInWords(sound.bytes.length)}).`;
  return `<section class="piece" id="piece${place}" aria-label="${escapeHtml(score.title)}" data-beat="${(60 / score.beats.tempoBpm / ((beats?.unit ?? 4) / 4)).toFixed(4)}" data-count="${beats?.count ?? 4}">
${several ? `<h2 class="title">${escapeHtml(score.title)}</h2>` : ''}<p>${escapeHtml(facts)}</p>
${sound === null ? '' : `${audioHtml('own', sound)}<p class="soft screen">${size}</p>`}${teacher ? audioHtml('teacher', teacher.sound) : ''}
${findings === null ? '' : summaryHtml(findings)}${hardHtml(score, hard, style)}
<ol class="lines">
${lines.join('\n')}
</ol>
${harpHtml(score)}
${versesHtml(score, lang)}${leftOverHtml(score)}${drillsHtml(score, style)}${findings === null ? '' : findingsHtml(findings, score.notes, sound !== null)}</section>`;
}

/** Lines with hard notes, each a touch away. */
function hardHtml(score: Score, hard: ReadonlyMap<number, string>, style: TabStyle): string {
  if (hard.size === 0) return '';
  const buttons = phrasesOf(score, style).flatMap(({ first, last }, line) => {
    const spots = score.notes.slice(first, last + 1).filter(({ index }) => hard.has(index));
    if (spots.length === 0) return [];
    const tab = [...new Set(spots.map(({ played }) => formatTabNote(played, style)))].join(' ');
    return [
      `<button type="button" class="go" data-line="${line}" aria-label="${escapeHtml(`Practise line ${line + 1}: ${tab}`)}">Line ${line + 1} <b>${escapeHtml(tab)}</b></button>`,
    ];
  });
  return `<div class="hard screen" role="group" aria-label="Hard spots first"><span class="soft">Hard spots first</span>${buttons.join('')}</div>`;
}

/** The language of the words as far as it can be told; the page itself is English. */
function languageOf({ take }: Score): string {
  return guessLanguage(take.words.map(printSyllable).join(' ')) ?? 'und';
}

/** Each verse whole, as verses beyond the first are hard to follow under notes. */
function versesHtml(score: Score, lang: string): string {
  if (score.verses < 2) return '';
  const verses = Array.from({ length: score.verses }, (_, verse) => {
    const lines = linesOfVerse(score, verse).map(escapeHtml).join('<br>');
    return `<p lang="${lang}"><b lang="en">Verse ${verse + 1}</b><br>${lines}</p>`;
  });
  return `<section class="verses" aria-label="Verses"><h3>Verses</h3><div>${verses.join('')}</div></section>`;
}

function audioHtml(role: 'own' | 'teacher', { bytes, rateHz, durationSec, untaggedDelaySec }: Mp3): string {
  const data = `data:audio/mpeg;base64,${Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength).toString('base64')}`;
  return `<audio class="${role}" preload="auto" data-rate="${rateHz}" data-length="${durationSec}" data-delay="${untaggedDelaySec}" src="${data}"></audio>`;
}

function leftOverHtml(score: Score): string {
  const lines = leftOverInWords(score).map((text) => `<p>${escapeHtml(text)}</p>`);
  return lines.length === 0 ? '' : `<section><h2>Words that found no note</h2>${lines.join('')}</section>\n`;
}

interface PageLine {
  readonly first: number;
  readonly last: number;
  readonly remark: string | null;
  readonly number: number;
}

function lineHtml(
  { score, staff, teacher }: PagePiece,
  { first, last, remark, number }: PageLine,
  options: NoteOptions,
  advice: string | undefined,
): string {
  const { style, sound, placed } = options;
  const notes = score.notes.slice(first, last + 1);
  const from = notes[0].played.onsetSec;
  const to = notes[notes.length - 1].played.offsetSec;
  const name = `Line ${number + 1}`;
  const about = remark === null ? '' : remark.replace(/^#\s*\d+\s*/, '');
  const items = notes.map((note, i) => {
    const bar = startsBar(score, note.index, i === 0) ? ' class="barline"' : '';
    const missed = missedHtml(placed?.before.get(note.index));
    return `${missed}<li${bar}>${noteHtml(score, note, options)}</li>${missedHtml(placed?.after.get(note.index))}`;
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
  return `<li class="line" data-line="${number}" data-from="${from}" data-to="${to}"${beside}>
<div class="head"><button class="pick" type="button" aria-label="${name}, play">${name}</button><span class="soft">${formatTime(from).slice(1, -1)} ${escapeHtml(about)}</span></div>
${advice === undefined ? '' : `<p class="advice"><b>Your teacher:</b> ${escapeHtml(advice)}</p>`}<ol class="tab">${items.join('')}</ol>
<div class="views">${staff === null ? '' : staffHtml(score, staff, number, style)}${pitch}</div></li>`;
}

/** Notes that were not played, where they should have come. */
function missedHtml(missed: readonly string[] = []): string {
  return missed
    .map((text) => `<li class="missed"><span class="fault">${escapeHtml(text)}</span></li>`)
    .join('');
}

function noteHtml(score: Score, note: ScoreNote, { style, placed, hard, lang }: NoteOptions): string {
  const { played, index } = note;
  // A check has weighed the faults against its reference: those that it let pass are not shown again.
  const faults = [
    ...doubtOf(note),
    ...(placed === null ? faultsOf(played) : (placed.byNote.get(played.id) ?? [])),
  ];
  const why = hard.get(index);
  const words = Array.from({ length: score.verses }, (_, verse) => wordText(note, verse));
  const lines = words.map(
    (word) => `<span class="word" lang="${lang}">${escapeHtml(word) || '&nbsp;'}</span>`,
  );
  const marks = faults.map((fault) => `<span class="fault">${escapeHtml(fault)}</span>`);
  const hidden = (text: string) => `<span class="unseen">${escapeHtml(text)}</span>`;
  const content = `${hidden(inWords(note))}<b aria-hidden="true">${escapeHtml(formatTabNote(played, style))}</b>${lines.join('')}${marks.join('')}${why === undefined ? '' : hidden(`hard: ${why}`)}`;
  const hz = findPlayable(score.harp, played)?.f0Hz ?? played.f0Hz;
  return `<button class="note${why === undefined ? '' : ' tough'}" type="button" tabindex="${index === 0 ? 0 : -1}" data-n="${index}" data-on="${played.onsetSec}" data-off="${played.offsetSec}" data-hz="${hz.toFixed(2)}" data-tab="${tabId(played)}">${content}</button>`;
}

function inWords({ played }: ScoreNote): string {
  const { hole, breath, bend, over } = played;
  const bent = bend === 0 ? '' : `, bent ${bend} semitone${bend > 1 ? 's' : ''}`;
  return `${hole} ${over ? 'over' : ''}${breath}${bent}`;
}

function doubtOf({ played }: ScoreNote): string[] {
  return isDoubtful(played) ? ['hole?'] : [];
}
