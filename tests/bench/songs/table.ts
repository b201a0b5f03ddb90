import { barTicks } from '../../../src/music/rhythm/metre.ts';
import { loadLanguage } from '../../../src/music/words/languages.ts';
import { setMusic } from '../../../src/take/edits/set-music.ts';
import type { Take } from '../../../src/take/schema.ts';
import { textTable } from '../scores/table.ts';
import type { SungLine } from './perform.ts';
import type { Song } from './songs.ts';
import type { SongTake } from './takes.ts';

/** How the words are given, and what was played. */
const CASES = [
  'one verse',
  'three stanzas under one verse',
  'three verses one after the other',
  'one verse, though three were played',
] as const;
type Case = (typeof CASES)[number];

interface WordsTally {
  syllables: number;
  right: number;
  lines: number;
  linesFound: number;
}

export interface Tally {
  readonly words: Map<string, WordsTally>;
  readonly bars: {
    takes: number;
    tempoRight: number;
    onBar: number;
    found: number;
    right: number;
    said: number;
  };
  /** Confidence said and F1 of each take. */
  readonly said: { confidence: number; f1: number }[];
}

const plain = (words: string): string => words.replaceAll(/[-_]/g, '').replaceAll('~', ' ');

/** The words file: stanzas with empty lines between; the refrain written once, each time, or once and then named. */
export function wordsFile(song: Song, verses: readonly number[], marked: boolean, way: number): string {
  const write = (line: string) => (marked ? line : plain(line));
  const stanzas: string[] = [];
  for (const [i, verse] of verses.entries()) {
    const lines = song.verses[verse - 1].map(write).join('\n');
    stanzas.push(way % 3 === 0 ? lines : way % 3 === 1 ? `${verse}. ${lines}` : `Verse ${verse}:\n${lines}`);
    if (song.refrain === undefined) continue;
    const refrain = song.refrain.words.map(write).join('\n');
    if (i === 0) stanzas.push(way % 3 === 0 ? refrain : `Refrain:\n${refrain}`);
    else if (way % 3 === 0) stanzas.push(refrain);
    else if (way % 3 === 2) stanzas.push('Refrain');
  }
  return stanzas.join('\n\n');
}

/** Letters up to each syllable, by row, with the note that it begins on: what is compared. */
function begins(rows: Iterable<{ row: number; text: string; note: number | null }>): Set<string> {
  const letters = new Map<number, number>();
  const found = new Set<string>();
  for (const { row, text, note } of rows) {
    const at = letters.get(row) ?? 0;
    if (note !== null && note >= 0) found.add(`${row}:${at}:${note}`);
    letters.set(row, at + text.replaceAll(/[^\p{L}]/gu, '').length);
  }
  return found;
}

function* syllablesOf(
  lines: readonly (SungLine & { firstNote: number })[],
  row: number,
  heard: readonly number[],
) {
  for (const { words, firstNote } of lines) {
    let note = firstNote;
    for (const syllable of words.split(/[\s-]+/)) {
      yield { row, text: syllable, note: heard[note] };
      note += 1 + (syllable.match(/_/g) ?? []).length;
    }
  }
}

/** The lines that were played to the words of the first row. */
function wordedLines({ performance: { lines } }: SongTake, which: Case): SongTake['performance']['lines'] {
  return which === 'one verse, though three were played' ? lines.slice(0, lines.length / 3) : lines;
}

function truthOf(taken: SongTake, which: Case): Set<string> {
  const { performance, heard, song } = taken;
  const rows = [...syllablesOf(wordedLines(taken, which), 1, heard)];
  if (which === 'three stanzas under one verse') {
    for (const verse of [2, 3]) {
      const lines = performance.lines
        .filter((line) => line.verse > 0)
        .map((line, i) => {
          const varied = song.variation?.verse === verse && song.variation.line === i + 1;
          const words = varied ? (song.variation?.stacked ?? '') : song.verses[verse - 1][i];
          return { ...line, words };
        });
      rows.push(...syllablesOf(lines, verse, heard));
    }
  }
  return begins(rows);
}

function addWords(tally: WordsTally, taken: SongTake, which: Case, laid: Take): void {
  const place = new Map(laid.notes.map(({ id }, i) => [id, i]));
  const found = begins(
    laid.words.map(({ verse, text, noteId }) => ({
      row: verse,
      text,
      note: place.get(noteId ?? '') ?? null,
    })),
  );
  const truth = truthOf(taken, which);
  tally.syllables += truth.size;
  for (const each of truth) if (found.has(each)) tally.right++;
  addLines(tally, taken, laid, wordedLines(taken, which));
}

/** Lines that are phrases, from their first note to their last. */
function addLines(
  tally: WordsTally,
  taken: SongTake,
  laid: Take,
  lines: SongTake['performance']['lines'] = taken.performance.lines,
): void {
  const phrases = new Set(laid.phrases.map(({ firstNote, lastNote }) => `${firstNote}-${lastNote}`));
  for (const { firstNote, lastNote } of lines) {
    tally.lines++;
    if (phrases.has(`${taken.heard[firstNote]}-${taken.heard[lastNote]}`)) tally.linesFound++;
  }
}

function addBars(tally: Tally, taken: SongTake, beats: Take['beats']): void {
  if (beats.notes === undefined) return;
  const { song, performance, heard } = taken;
  const barBeats = (4 * song.metre.count) / song.metre.unit;
  const written = new Set<number>();
  for (const [i, at] of performance.atBeats.entries()) {
    const inBar = at % barBeats;
    if (heard[i] >= 0 && Math.min(inBar, barBeats - inBar) < 1e-6) written.add(heard[i]);
  }
  const found = new Set<number>();
  const { metre } = beats;
  if (metre !== null)
    for (const [i, { atTicks }] of beats.notes.entries()) if (atTicks % barTicks(metre) === 0) found.add(i);
  const right = [...found].filter((i) => written.has(i)).length;
  tally.bars.takes++;
  tally.bars.onBar += written.size;
  tally.bars.found += found.size;
  tally.bars.right += right;
  tally.bars.said += beats.confidence;
  const seconds = (performance.plan.at(-1)?.beginSec ?? 0) - performance.plan[0].beginSec;
  const playedBpm =
    (60 * (performance.atBeats[performance.atBeats.length - 1] - performance.atBeats[0])) / seconds;
  // Breaths stretch the time; a tempo octave is wrong by a factor of two.
  if (Math.abs(Math.log2(beats.tempoBpm / playedBpm)) < 0.3) tally.bars.tempoRight++;
  tally.said.push({ confidence: beats.confidence, f1: (2 * right) / Math.max(1, written.size + found.size) });
}

const CASE_OF: Readonly<Record<Case, boolean>> = {
  'one verse': true,
  'three stanzas under one verse': true,
  'three verses one after the other': false,
  'one verse, though three were played': false,
};

/** What is right in all takes. */
export async function tallied(
  takes: Iterable<SongTake> | AsyncIterable<SongTake>,
  list: (line: string) => void,
): Promise<Tally> {
  const tally: Tally = {
    words: new Map(),
    bars: { takes: 0, tempoRight: 0, onBar: 0, found: 0, right: 0, said: 0 },
    said: [],
  };
  let way = 0;
  const asHeard = { syllables: 0, right: 0, lines: 0, linesFound: 0 };
  tally.words.set('no words', asHeard);
  for await (const taken of takes) {
    addBars(tally, taken, taken.take.beats);
    addLines(asHeard, taken, taken.take);
    const last = tally.said[tally.said.length - 1];
    const { beats } = taken.take;
    const metre =
      beats.notes !== undefined && beats.metre !== null ? `${beats.metre.count}/${beats.metre.unit}` : 'free';
    if (beats.notes !== undefined) {
      list(
        `${taken.song.name} ${taken.oneVerse ? 1 : 3}: ${metre} ${beats.tempoBpm} (is ${taken.song.metre.count}/${taken.song.metre.unit} ${taken.song.tempoBpm}), downbeats F1 ${last.f1.toFixed(2)}, said ${last.confidence}`,
      );
    }
    for (const which of CASES) {
      if (CASE_OF[which] !== taken.oneVerse) continue;
      for (const marked of [false, true]) {
        const text = wordsFile(taken.song, which.startsWith('one verse') ? [1] : [1, 2, 3], marked, way++);
        const language = await loadLanguage(taken.song.language ?? 'en');
        const set = setMusic(taken.take, { beats: {}, words: { text, language } });
        const key = `${which}, ${marked ? 'holds marked' : 'plain text'}`;
        const one: WordsTally = { syllables: 0, right: 0, lines: 0, linesFound: 0 };
        addWords(one, taken, which, set.take);
        const all = tally.words.get(key) ?? { syllables: 0, right: 0, lines: 0, linesFound: 0 };
        for (const field of ['syllables', 'right', 'lines', 'linesFound'] as const) all[field] += one[field];
        tally.words.set(key, all);
        list(
          `  ${key}: syllables ${one.right}/${one.syllables}, lines ${one.linesFound}/${one.lines}${set.remarks.map((remark) => `\n    ${remark}`).join('')}`,
        );
      }
    }
  }
  return tally;
}

const share = (part: number, whole: number): string => (whole === 0 ? '-' : (part / whole).toFixed(3));

export function tables({ words, bars, said }: Tally): string {
  const rows = [['words', 'syllables', 'on their note', 'lines', 'found as phrases']];
  for (const [key, { syllables, right, lines, linesFound }] of words) {
    rows.push([key, String(syllables), share(right, syllables), String(lines), share(linesFound, lines)]);
  }
  const precision = bars.right / Math.max(1, bars.found);
  const recall = bars.right / Math.max(1, bars.onBar);
  const mean = said.reduce((sum, { f1 }) => sum + f1, 0) / said.length;
  const apart = said.reduce((sum, { f1, confidence }) => sum + Math.abs(f1 - confidence), 0) / said.length;
  return [
    textTable(rows),
    '',
    textTable([
      [
        'takes',
        'downbeats P',
        'R',
        'F1',
        'mean F1 of takes',
        'confidence said',
        'apart by take',
        'tempo right',
      ],
      [
        String(bars.takes),
        precision.toFixed(3),
        recall.toFixed(3),
        ((2 * precision * recall) / Math.max(1e-9, precision + recall)).toFixed(3),
        mean.toFixed(3),
        (bars.said / bars.takes).toFixed(3),
        apart.toFixed(3),
        share(bars.tempoRight, bars.takes),
      ],
    ]),
  ].join('\n');
}
