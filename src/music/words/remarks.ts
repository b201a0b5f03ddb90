import type { Placed } from './align.ts';
import type { SungSyllable } from './verses.ts';

/** A line of words with the places of its syllables. */
export interface AlignedLine {
  readonly syllables: readonly SungSyllable[];
  /** One per syllable. */
  readonly placed: readonly Placed[];
}

interface NamedStanza {
  readonly name: string;
  readonly lines: readonly AlignedLine[];
}

/** A remark quotes at most this many words. */
const MOST_NAMED = 4;

/** Sentences for the player on where words and notes differ, by line and word; marks made by hand are taken as intended. */
export function remarksOn(rows: readonly (readonly NamedStanza[])[], noteCount: number): string[] {
  const remarks = rows.flatMap((stanzas) => {
    const ofRefrain = stanzas.findIndex(({ name }) => name === 'refrain');
    return stanzas.flatMap(({ name, lines }, at) =>
      // The refrain is the same each time.
      name === 'refrain' && at !== ofRefrain
        ? []
        : lines.flatMap((line, i) => ofLine(`${name}, line ${i + 1}`, line)),
    );
  });
  const silent = silentRemark(rows[0] ?? [], noteCount);
  return silent === null ? remarks : [...remarks, silent];
}

function ofLine(where: string, { syllables, placed }: AlignedLine): string[] {
  const said: string[] = [];
  const held = syllables.filter((syllable, i) => placed[i].holds > syllable.holds);
  const joined = syllables.filter((_, i) => placed[i].joined);
  const lost = syllables.filter((_, i) => placed[i].note === null && !placed[i].joined);
  if (lost.length === syllables.length)
    return [`${where}: no notes were left for it; it stands after the tab`];
  if (held.length > 0) said.push(`${quoted(held)} held over more than one note (mark your own holds with _)`);
  if (joined.length > 0) said.push(`${quoted(joined)} sung on the same note as the syllable before`);
  if (lost.length > 0) said.push(`no note was left for ${quoted(lost)} (join words with ~, or split fewer)`);
  return said.length === 0 ? [] : [`${where}: ${said.join('; ')}`];
}

function silentRemark(stanzas: readonly NamedStanza[], noteCount: number): string | null {
  const sung = stanzas.flatMap(({ lines }) => lines.flatMap(({ placed }) => placed));
  const covered = sung.reduce((sum, { note, holds }) => sum + (note === null ? 0 : 1 + holds), 0);
  const silent = noteCount - covered;
  if (covered === 0 || silent === 0) return null;
  return `${silent} ${silent === 1 ? 'note has' : 'notes have'} no words`;
}

/** Syllables in quotation marks, with hyphens where their words continue. */
function quoted(some: readonly SungSyllable[]): string {
  const names = some.slice(0, MOST_NAMED).map((syllable) => `'${inWord(syllable)}'`);
  return some.length > MOST_NAMED
    ? `${names.join(', ')} and ${some.length - MOST_NAMED} more`
    : names.join(', ');
}

function inWord({ syllabic, text }: SungSyllable): string {
  const before = syllabic === 'middle' || syllabic === 'end' ? '-' : '';
  const after = syllabic === 'begin' || syllabic === 'middle' ? '-' : '';
  return `${before}${text}${after}`;
}
