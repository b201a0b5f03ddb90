import type { Finding, FindingKind } from '../../check/finding.ts';
import { escapeHtml } from '../../text/html.ts';
import type { Score, ScoreNote } from '../score.ts';
import { sentence } from './plain-page.ts';

/** A finding; for a missed note, also the note that it should have followed (null for none), if known. */
export type PageFinding = Finding & { readonly afterNoteId?: string | null };

/** What `check` found in a take, for a page. */
export interface PageFindings {
  /** Name of what it was compared with. */
  readonly against: string;
  /** 0 to 100, and what it is based on, a sentence for each part. */
  readonly score: number;
  readonly parts: readonly string[];
  readonly findings: readonly PageFinding[];
  readonly workOn: readonly string[];
  readonly wentWell: readonly string[];
  readonly remarks: readonly string[];
  /** How strictly, in a sentence. */
  readonly judged: string;
}

/** Seconds of sound before and after a note, for context. */
const AROUND_SEC = 0.5;

/** Findings in their places on the page; numbers are those of the list, from 1. */
export interface PlacedFindings {
  /** By note: its findings, in a word or two each. */
  readonly byNote: ReadonlyMap<string, readonly string[]>;
  /** By position of a note: notes that are missing before it. */
  readonly before: ReadonlyMap<number, readonly string[]>;
  /** The same, after the last note of a phrase. */
  readonly after: ReadonlyMap<number, readonly string[]>;
}

/** Assigns findings to notes; a missed note is placed where it should have come. */
export function placeFindings({ notes, take }: Score, findings: readonly PageFinding[]): PlacedFindings {
  const byNote = new Map<string, string[]>();
  const before = new Map<number, string[]>();
  const after = new Map<number, string[]>();
  const ends = new Set(take.phrases.map(({ lastNote }) => lastNote));
  const add = <K>(map: Map<K, string[]>, key: K, text: string) =>
    map.set(key, [...(map.get(key) ?? []), text]);
  for (const [i, finding] of findings.entries()) {
    const text = `${i + 1}. ${inShort(finding)}`;
    if (finding.noteId !== null) {
      add(byNote, finding.noteId, text);
      continue;
    }
    const last = lastBefore(notes, finding);
    const next: ScoreNote | undefined = notes[last + 1];
    const gapBefore = finding.timeSec - (notes[last]?.played.offsetSec ?? Number.NEGATIVE_INFINITY);
    const gapAfter = (next?.played.onsetSec ?? Number.POSITIVE_INFINITY) - finding.timeSec;
    if (next === undefined || (ends.has(last) && gapBefore < gapAfter)) add(after, last, text);
    else add(before, last + 1, text);
  }
  return { byNote, before, after };
}

/** Position of the note that a missed one should have followed; -1 for none. */
function lastBefore(notes: readonly ScoreNote[], { timeSec, afterNoteId }: PageFinding): number {
  if (afterNoteId !== undefined) return notes.findIndex(({ played }) => played.id === afterNoteId);
  const next = notes.findIndex(({ played }) => played.onsetSec >= timeSec);
  return (next < 0 ? notes.length : next) - 1;
}

/** A finding in so few words that it fits under a note. */
function inShort({ kind, value }: Finding): string {
  const size = Math.abs(value ?? 0);
  const words: Readonly<Record<FindingKind, string>> = {
    'wrong-note': 'wrong note',
    octave: 'other octave',
    missed: 'missed',
    added: 'extra',
    restart: 'again',
    early: `early ${size.toFixed(2)} s`,
    late: `late ${size.toFixed(2)} s`,
    'bend-short': `bend ${Math.round(size)} short`,
    'bend-sharp': `bend ${Math.round(size)} too deep`,
    'second-reed': 'second reed',
    'breath-noise': 'breathy',
    'same-pitch-other-hole': 'other hole',
  };
  return words[kind];
}

/** What the reader sees first: the score, what to work on, what went well. */
export function summaryHtml({ against, score, parts, workOn, wentWell, remarks }: PageFindings): string {
  const list = (tag: 'ol' | 'ul', title: string, lines: readonly string[]) =>
    lines.length === 0
      ? ''
      : `<h3>${title}</h3><${tag}>${lines.map((line) => `<li>${sentence(line)}</li>`).join('')}</${tag}>`;
  return `<section aria-labelledby="held"><h2 id="held">Compared with ${escapeHtml(against)}: ${Math.round(score)} of 100</h2>
<p class="soft">${escapeHtml(parts.join('; '))}</p>
${remarks.map((remark) => `<p>${sentence(remark)}</p>`).join('')}${list('ol', 'Work on first', workOn)}${list('ul', 'Went well', wentWell)}</section>
`;
}

/** Every finding with its time, in the order in which the tab numbers them. */
export function findingsHtml(
  { findings, judged }: PageFindings,
  notes: readonly ScoreNote[],
  withSound: boolean,
): string {
  const byId = new Map(notes.map(({ played }) => [played.id, played]));
  const items = findings.map((finding, i) => {
    const note = byId.get(finding.noteId ?? '');
    const from = Math.max(0, (note?.onsetSec ?? finding.timeSec) - AROUND_SEC);
    const to = (note?.offsetSec ?? finding.timeSec) + AROUND_SEC;
    const time = clock(finding.timeSec);
    const label = withSound
      ? `<button class="finding" type="button" data-on="${from}" data-off="${to}" aria-label="Hear finding ${i + 1}, at ${time}">${time}</button>`
      : `<span class="time">${time}</span>`;
    return `<li><div>${label}<span>${sentence(finding.message)}</span></div></li>`;
  });
  const list = items.length === 0 ? '<p>No faults found.</p>' : `<ol class="findings">${items.join('')}</ol>`;
  return `<section class="long" aria-labelledby="found"><h2 id="found">What was found</h2>
${list}
<p class="soft">${escapeHtml(judged)}</p></section>
`;
}

/** `0:03.2` */
function clock(sec: number): string {
  const tenths = Math.round(Math.max(0, sec) * 10);
  return `${Math.floor(tenths / 600)}:${((tenths % 600) / 10).toFixed(1).padStart(4, '0')}`;
}
