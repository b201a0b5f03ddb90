import { guessLanguage } from '../../music/words/guess-language.ts';
import type { Mp3 } from '../../sound/mp3.ts';
import { remarkLegend } from '../../tab/remarks.ts';
import { formatTabNote, ornamentLegend, severalLegend, type TabStyle } from '../../tab/text.ts';
import { printSyllable } from '../../take/words.ts';
import { escapeHtml } from '../../text/html.ts';
import { hardSpots } from '../hard-spots.ts';
import { headInWords } from '../head.ts';
import { linesOf } from '../repeats.ts';
import { leftOverInWords, type Score } from '../score.ts';
import { linesOfVerse } from '../sheet/pages.ts';
import { printed } from '../sheet/system-block.ts';
import { drillsHtml } from './drills.ts';
import { findingsHtml, placeFindings, summaryHtml } from './findings.ts';
import { harpHtml } from './harp.ts';
import { lineHtml } from './line.ts';
import type { PagePiece } from './options.ts';
import { staffHtml } from './staff.ts';

/** The page that a piece is part of. */
export interface Surroundings {
  readonly several: boolean;
  readonly title: string;
  /** Pieces above it; what they explain is not explained again. */
  readonly before: readonly PagePiece[];
}

/** One piece of a page: introduction, hard spots, lines, words, bends by ear, and findings. */
export function pieceHtml(piece: PagePiece, place: number, { several, title, before }: Surroundings): string {
  const { score, style, sound, findings, by, about } = piece;
  const teacher = piece.teacher ?? null;
  const placed = findings === null ? null : placeFindings(score, findings.findings);
  const hard = hardSpots(score);
  const lang = languageOf(score);
  const shared = { style, sound, teacher, placed, hard, lang, faults: piece.faults ?? true };
  const lines = linesOf(score, style).map(({ first, last, remark, name, phrase, begins }, number) =>
    lineHtml(
      score,
      { first, last, remark, number, name },
      {
        ...shared,
        advice: begins ? piece.advice?.get(phrase) : undefined,
        staff:
          piece.staff === null
            ? ''
            : staffHtml(score, piece.staff, { number, name }, { style, place: piece.place ?? 'row' }),
      },
    ),
  );
  const facts = [...headInWords(score), ...(by ? [by] : [])].join(' · ');
  const beats = score.beats.metre;
  return `<section class="piece" id="piece${place}" aria-label="${escapeHtml(score.title)}" data-beat="${(60 / score.beats.tempoBpm / ((beats?.unit ?? 4) / 4)).toFixed(4)}" data-count="${beats?.count ?? 4}">
${several ? `<h2 class="title${score.title === title ? ' unseen' : ''}">${escapeHtml(score.title)}</h2>` : ''}<p>${escapeHtml(facts)}</p>
${about ? `<p>${escapeHtml(about)}</p>` : ''}${signsHtml(score, style, shared.faults && findings === null)}${sound === null ? '' : audioHtml('own', sound)}${teacher === null ? '' : audioHtml('teacher', teacher.sound)}
${findings === null ? '' : summaryHtml(findings)}${hardHtml(score, hard, style)}
<ol class="lines">
${lines.join('\n')}
</ol>
${harpHtml(score)}
${before.some((other) => sameWords(other.score, score)) ? '' : versesHtml(score, lang)}${leftOverHtml(score)}${drillsHtml(
  score,
  style,
  before.map((other) => other.score),
)}${findings === null ? '' : findingsHtml(findings, score.notes, sound !== null)}</section>`;
}

/** Explains the less common signs in this piece. */
function signsHtml({ take }: Score, style: TabStyle, withFaults: boolean): string {
  const signs = [
    severalLegend(take.notes, style),
    ornamentLegend(take.notes, style),
    withFaults ? remarkLegend(take.notes) : '',
  ].filter((text) => text !== '');
  return signs.length === 0 ? '' : `<p class="soft">${escapeHtml(printed(signs.join(' · ')))}</p>`;
}

/** The most hard lines that fit on a phone above the first line of the tune. */
const HARD_LINES = 6;

/** The first line with each hard passage, then, if there is room, lines that repeat one; in order. */
function mostTelling<T extends { readonly line: number; readonly tab: string }>(lines: readonly T[]): T[] {
  const again = ({ tab }: T, place: number) => lines.findIndex((other) => other.tab === tab) < place;
  const chosen = [
    ...lines.filter((each, place) => !again(each, place)),
    ...lines.filter((each, place) => again(each, place)),
  ];
  return chosen.slice(0, HARD_LINES).sort((a, b) => a.line - b.line);
}

/** Buttons that go to the lines with hard notes. */
function hardHtml(score: Score, hard: ReadonlyMap<number, string>, style: TabStyle): string {
  if (hard.size === 0) return '';
  const hardLines = linesOf(score, style).flatMap(({ first, last, name }, line) => {
    const spots = score.notes.slice(first, last + 1).filter(({ index }) => hard.has(index));
    if (spots.length === 0) return [];
    const tab = [...new Set(spots.map(({ played }) => printed(formatTabNote(played, style))))].join(' ');
    return [{ line, name, tab }];
  });
  const buttons = mostTelling(hardLines).map(
    ({ line, name, tab }) =>
      `<button type="button" class="go" data-line="${line}" aria-label="${escapeHtml(`Practise line ${name}: ${tab}`)}">Line ${name} <b>${escapeHtml(tab)}</b></button>`,
  );
  return `<div class="hard screen" role="group" aria-label="Hard spots first"><span class="soft">Hard spots first</span>${buttons.join('')}</div>`;
}

/** The language of the words, if it can be guessed; the page itself is English. */
function languageOf({ take }: Score): string {
  return guessLanguage(take.words.map(printSyllable).join(' ')) ?? 'und';
}

/** Whether two scores have the same syllables in the same verses, whatever the notes. */
function sameWords(one: Score, other: Score): boolean {
  const text = ({ take }: Score) =>
    take.words.map((each) => `${each.verse} ${printSyllable(each)}`).join(' ');
  return text(one) === text(other);
}

/** Each verse in full, as verses beyond the first are hard to follow under notes. */
function versesHtml(score: Score, lang: string): string {
  if (score.verses < 2) return '';
  const verses = Array.from({ length: score.verses }, (_, verse) => {
    const own = linesOfVerse(score, verse);
    const whole = own[0]?.lang ?? lang;
    const lines = own.map(({ text, lang: of }) =>
      of === null || of === whole ? escapeHtml(text) : `<span lang="${of}">${escapeHtml(text)}</span>`,
    );
    return `<p lang="${whole}"><b lang="en">Verse ${verse + 1}</b><br>${lines.join('<br>')}</p>`;
  });
  return `<section class="verses" aria-label="Verses"><h3>Verses</h3><div>${verses.join('')}</div></section>`;
}

function audioHtml(role: 'own' | 'teacher', { bytes, rateHz, durationSec, untaggedDelaySec }: Mp3): string {
  const data = `data:audio/mpeg;base64,${Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength).toString('base64')}`;
  return `<audio class="${role}" preload="auto" data-rate="${rateHz}" data-length="${durationSec}" data-delay="${untaggedDelaySec}" src="${data}"></audio>`;
}

function leftOverHtml(score: Score): string {
  const lines = leftOverInWords(score).map((text) => `<p>${escapeHtml(text)}</p>`);
  return lines.length === 0 ? '' : `<section><h2>Words without a note</h2>${lines.join('')}</section>\n`;
}
