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
 * before; where words are left over, syllables that meet with their vowels are sung together, and the rest keep
 * `note: null`. All of that is reported.
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
    for (const written of stretches(lines, notes.length, phrases, verse)) {
      const stretch = { ...written, syllables: sungTogether(written) };
      for (const laid of layStretch(stretch, notes)) syllables.push({ verse, ...laid });
      const remark = difference(written, wanted(stretch));
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

/** Syllables with as many of those that meet sung as one as there are too many. */
function sungTogether(stretch: Stretch): SungSyllable[] {
  let over = wanted(stretch) - roomOf(stretch);
  const sung: SungSyllable[] = [];
  for (const syllable of stretch.syllables) {
    const last = sung[sung.length - 1];
    if (over <= 0 || !last?.meets) {
      sung.push(syllable);
      continue;
    }
    const goesOn = syllable.syllabic === 'begin';
    const { meets: _, ...first } = last;
    sung[sung.length - 1] = {
      ...first,
      text: `${last.text} ${syllable.text}`,
      syllabic: last.syllabic === 'end' ? (goesOn ? 'middle' : 'end') : goesOn ? 'begin' : 'single',
      holds: syllable.holds,
      ...(syllable.meets ? { meets: true } : {}),
    };
    over--;
  }
  return sung;
}

/** @param asked  notes that the syllables ask for once some are sung together */
function difference(written: Stretch, asked: number): string | null {
  const room = roomOf(written);
  const count = wanted(written);
  if (count === room) return null;
  const says = `${written.name}: ${count} ${count === 1 ? 'syllable' : 'syllables'} for ${room} ${room === 1 ? 'note' : 'notes'}`;
  if (count < room) return `${says}; ${room - count} sung on the syllable before (mark your own with _)`;
  const together = count > asked ? `; ${count - asked} sung with the one before, where vowels meet` : '';
  const left = asked > room ? `; ${asked - room} left over after the tab` : '';
  return `${says}${together}${left} (join words with ~, or split fewer)`;
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
