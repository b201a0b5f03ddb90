import type { NoteStart } from '../../tab/note.ts';
import type { Phrase } from '../phrases.ts';
import type { SungSyllable, Verse } from './verses.ts';

/** A syllable under a note. */
export interface LaidSyllable {
  /** 1 for the first verse. */
  readonly verse: number;
  readonly text: string;
  readonly syllabic: SungSyllable['syllabic'];
  /** Position of its note; null when the notes ran out: it is printed after the tab. */
  readonly note: number | null;
  /** Notes more that it is held over. */
  readonly holds: number;
}

export interface LaidWords {
  /** By verse, in reading order; every syllable that was given. */
  readonly syllables: readonly LaidSyllable[];
  /** Where words and notes differ in number, in sentences for the player. */
  readonly remarks: readonly string[];
}

interface Stretch {
  readonly syllables: readonly SungSyllable[];
  readonly firstNote: number;
  readonly lastNote: number;
  readonly name: string;
}

/** How likely it is that a note goes on with the syllable before: no new attack, no new syllable. */
const HELD_OVER: Readonly<Record<NoteStart, number>> = {
  glide: 3,
  slur: 2,
  jump: 1,
  breath: 0,
  tongue: -1,
  silence: -2,
};

/**
 * Lays verses under notes, one syllable a note. A verse of as many lines as there are phrases goes line by line;
 * another one runs on. Where notes are left over, those that begin without a new attack are sung on the syllable
 * before; where words are left over, they keep `note: null`. Both are reported.
 */
export function layWords(
  verses: readonly Verse[],
  notes: readonly { readonly start: NoteStart }[],
  phrases: readonly Phrase[],
): LaidWords {
  const syllables: LaidSyllable[] = [];
  const remarks: string[] = [];
  for (const [index, { lines }] of verses.entries()) {
    const verse = index + 1;
    for (const stretch of stretches(lines, notes.length, phrases, verse)) {
      for (const laid of layStretch(stretch, notes)) syllables.push({ verse, ...laid });
      const remark = difference(stretch);
      if (remark !== null) remarks.push(remark);
    }
  }
  return { syllables, remarks };
}

function stretches(
  lines: Verse['lines'],
  noteCount: number,
  phrases: readonly Phrase[],
  verse: number,
): Stretch[] {
  if (lines.length === phrases.length) {
    return lines.map((syllables, i) => ({
      syllables,
      ...phrases[i],
      name: `verse ${verse}, line ${i + 1}`,
    }));
  }
  return [{ syllables: lines.flat(), firstNote: 0, lastNote: noteCount - 1, name: `verse ${verse}` }];
}

function roomOf({ firstNote, lastNote }: Stretch): number {
  return lastNote - firstNote + 1;
}

/** Notes that the syllables ask for, holds by hand included. */
function wanted({ syllables }: Stretch): number {
  return syllables.reduce((sum, { holds }) => sum + 1 + holds, 0);
}

function difference(stretch: Stretch): string | null {
  const room = roomOf(stretch);
  const count = wanted(stretch);
  if (count === room) return null;
  const says = `${stretch.name}: ${count} ${count === 1 ? 'syllable' : 'syllables'} for ${room} ${room === 1 ? 'note' : 'notes'}`;
  return count < room
    ? `${says}; ${room - count} sung on the syllable before (mark your own with _)`
    : `${says}; ${count - room} left over after the tab (join words with ~, or split fewer)`;
}

function layStretch(
  stretch: Stretch,
  notes: readonly { readonly start: NoteStart }[],
): Omit<LaidSyllable, 'verse'>[] {
  const spare = Math.max(0, roomOf(stretch) - wanted(stretch));
  const held = new Set(heldNotes(stretch, notes, spare));
  const laid: Omit<LaidSyllable, 'verse'>[] = [];
  let at = stretch.firstNote;
  for (const { text, syllabic, holds } of stretch.syllables) {
    if (at > stretch.lastNote) {
      laid.push({ text, syllabic, note: null, holds: 0 });
      continue;
    }
    let end = at + 1;
    for (let left = holds; end <= stretch.lastNote && (held.has(end) || left > 0); end++)
      if (!held.has(end)) left--;
    laid.push({ text, syllabic, note: at, holds: end - at - 1 });
    at = end;
  }
  return laid;
}

/** The notes best sung on the syllable before; of equal ones the last. */
function heldNotes(
  { firstNote, lastNote }: Stretch,
  notes: readonly { readonly start: NoteStart }[],
  spare: number,
): number[] {
  const candidates: number[] = [];
  for (let i = firstNote + 1; i <= lastNote; i++) candidates.push(i);
  return candidates
    .sort((a, b) => HELD_OVER[notes[b].start] - HELD_OVER[notes[a].start] || b - a)
    .slice(0, spare);
}
