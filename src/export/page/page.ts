import type { ContourPoint } from '../../measure/pitch-contour.ts';
import type { Mp3 } from '../../sound/mp3.ts';
import { faultsOf, isDoubtful } from '../../tab/remarks.ts';
import { formatTime } from '../../tab/sheet.ts';
import { formatTabNote, legend, type TabStyle } from '../../tab/text.ts';
import { leftOverInWords, type Score, type ScoreNote } from '../score.ts';
import { phrasesOf, startsBar, wordText } from '../tab.ts';
import { contourSvg } from './contour.ts';
import { escapeHtml, sizeInWords } from './escape.ts';
import {
  findingsHtml,
  type PageFindings,
  type PlacedFindings,
  placeFindings,
  summaryHtml,
} from './findings.ts';
import { PAGE_SCRIPT } from './script.ts';
import { PAGE_STYLE } from './style.ts';

/** The recording as a page embeds it. */
export interface PageSound extends Mp3 {
  /** By note: the measured pitch over time. */
  readonly contours: readonly (readonly ContourPoint[])[];
}

export interface PageOptions {
  readonly style: TabStyle;
  /** Null leaves sound and measured contours out. */
  readonly sound: PageSound | null;
  /** The staff as an SVG picture, which may bring its own fonts; null leaves it out. */
  readonly staffSvg: string | null;
  /** What `check` found; null when nothing was checked. */
  readonly findings: PageFindings | null;
}

/** What the notes of a page need to know. */
interface NoteOptions extends Pick<PageOptions, 'style' | 'sound'> {
  readonly placed: PlacedFindings | null;
}

/** Nothing is loaded from anywhere: all that the page needs is in it. */
const POLICY =
  "default-src 'none'; media-src data: blob:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";
const SPEEDS = [0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1] as const;
/** A take as one page that opens without a network: tab with words, contour, staff, and the recording to play along. */
export function writeHtml(score: Score, { style, sound, staffSvg, findings }: PageOptions): string {
  const { take } = score;
  const placed = findings === null ? null : placeFindings(score, findings.findings);
  const title = escapeHtml(score.title);
  const phrases = phrasesOf(score, style).map(({ first, last, remark }, i) => {
    const notes = score.notes.slice(first, last + 1);
    return phraseHtml(score, notes, i, remark, { style, sound, placed });
  });
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${title}</title>
<style>${PAGE_STYLE}</style>
</head>
<body>
<header>
<h1>${title}</h1>
<p>${escapeHtml(`${take.harp.key} harp, ${take.harp.tuning} tuning; ${timeInWords(score)}`)}</p>
<p class="soft">${escapeHtml(legend(style))}</p>
</header>
${sound === null ? '' : playerHtml(sound)}<main>
${findings === null ? '' : summaryHtml(findings)}${phrases.join('\n')}
${leftOverHtml(score)}${findings === null ? '' : findingsHtml(findings, score.notes, sound !== null)}${staffSvg === null ? '' : staffHtml(staffSvg)}</main>
<script>${PAGE_SCRIPT}</script>
</body>
</html>
`;
}

function leftOverHtml(score: Score): string {
  const lines = leftOverInWords(score).map((text) => `<p>${escapeHtml(text)}</p>`);
  return lines.length === 0 ? '' : `<section><h2>Words that found no note</h2>${lines.join('')}</section>\n`;
}

/** As an image: the policy of the page does not reach the fonts inside it. */
function staffHtml(svg: string): string {
  const data = `data:image/svg+xml;base64,${Buffer.from(svg).toString('base64')}`;
  return `<section><h2>Staff</h2><div class="staff"><img alt="The tune on a staff; the same notes as the tab above" src="${data}"></div></section>\n`;
}

function timeInWords({ beats }: Score): string {
  if (beats.metre === null) return 'free time';
  const { count, unit } = beats.metre;
  return `${count}/${unit}, ${Math.round(beats.tempoBpm)} quarter notes a minute${beats.swing ? ', swing' : ''}`;
}

function playerHtml({ bytes, rateHz, durationSec, untaggedDelaySec }: PageSound): string {
  const data = `data:audio/mpeg;base64,${Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength).toString('base64')}`;
  const speeds = SPEEDS.map(
    (speed) =>
      `<option value="${speed}"${speed === 1 ? ' selected' : ''}>${Math.round(100 * speed)} %</option>`,
  );
  return `<div class="player" role="region" aria-label="Player">
<audio controls preload="auto" data-rate="${rateHz}" data-length="${durationSec}" data-delay="${untaggedDelaySec}" src="${data}"></audio>
<label>Speed, same pitch <select id="speed">${speeds.join('')}</select></label>
</div>
<p class="soft screen">A note plays when it is clicked or tapped; arrow keys go from note to note, Enter or Space plays, Escape stops. The recording is in this page as MP3 (${sizeInWords(bytes.length)}). On headphones keep the level moderate.</p>
`;
}

function phraseHtml(
  score: Score,
  notes: readonly ScoreNote[],
  number: number,
  remark: string | null,
  { style, sound, placed }: NoteOptions,
): string {
  const from = notes[0].played.onsetSec;
  const to = notes[notes.length - 1].played.offsetSec;
  const name = `Phrase ${number + 1}`;
  const about = remark === null ? '' : remark.replace(/^#\s*\d+\s*/, '');
  const loop =
    sound === null
      ? ''
      : `<button class="loop" type="button" aria-pressed="false" data-on="${from}" data-off="${to}">Loop ${name.toLowerCase()}</button>`;
  const items = notes.map((note, i) => {
    const bar = startsBar(score, note.index, i === 0) ? ' class="barline"' : '';
    const missed = missedHtml(placed?.before.get(note.index));
    return `${missed}<li${bar}>${noteHtml(score, note, { style, sound, placed })}</li>${missedHtml(placed?.after.get(note.index))}`;
  });
  const svg = contourSvg(
    score,
    notes,
    sound?.contours ?? null,
    style,
    `${name}: pitch over time on the rows of the harp`,
  );
  return `<section aria-label="${name}"><div class="head"><h2>${name}</h2><span class="soft">${formatTime(from).slice(1, -1)} ${escapeHtml(about)}</span>${loop}</div>
<ol class="tab">${items.join('')}</ol>
${svg}</section>`;
}

/** Notes that were not played, where they should have come. */
function missedHtml(missed: readonly string[] = []): string {
  return missed
    .map((text) => `<li class="missed"><span class="fault">${escapeHtml(text)}</span></li>`)
    .join('');
}

function noteHtml(score: Score, note: ScoreNote, { style, sound, placed }: NoteOptions): string {
  const { played, index } = note;
  // A check has weighed the faults against its reference: those that it let pass are not shown again.
  const faults = [
    ...doubtOf(note),
    ...(placed === null ? faultsOf(played) : (placed.byNote.get(played.id) ?? [])),
  ];
  const words = Array.from({ length: score.verses }, (_, verse) => wordText(note, verse));
  const label = [inWords(note), ...words.map(spoken).filter((word) => word !== ''), ...faults].join(', ');
  const lines = words.map((word) => `<span class="word">${escapeHtml(word) || '&nbsp;'}</span>`);
  const marks = faults.map((fault) => `<span class="fault">${escapeHtml(fault)}</span>`);
  const content = `<b>${escapeHtml(formatTabNote(played, style))}</b>${lines.join('')}${marks.join('')}`;
  const name = `aria-label="${escapeHtml(label)}"`;
  // Without sound there is nothing to press.
  if (sound === null) return `<span class="note" role="img" ${name}>${content}</span>`;
  return `<button class="note" type="button" tabindex="${index === 0 ? 0 : -1}" data-n="${index}" data-on="${played.onsetSec}" data-off="${played.offsetSec}" ${name}>${content}</button>`;
}

/** A syllable without the signs that are there for the eye. */
function spoken(word: string): string {
  return word.replace(/[-_,;:.]+$/, '');
}

function inWords({ played }: ScoreNote): string {
  const { hole, breath, bend, over } = played;
  const bent = bend === 0 ? '' : `, bent ${bend} semitone${bend > 1 ? 's' : ''}`;
  return `${hole} ${over ? 'over' : ''}${breath}${bent}`;
}

function doubtOf({ played }: ScoreNote): string[] {
  return isDoubtful(played) ? ['hole?'] : [];
}
