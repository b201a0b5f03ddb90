import type { TabNote } from '../tab/tab-note.ts';
import { formatTabNote } from '../tab/text.ts';
import { countedInWords } from '../text/counted.ts';
import type { ReferenceNote } from './align/reference.ts';

/** `-3''`, as the tab has it. */
export const holeName = (tab: TabNote): string => formatTabNote(tab);

/** Where in the tune, `bar 3 on "joy"`, `the pick-up`; by line and note where there are no bars. */
export function placeInWords(note: ReferenceNote): string {
  const where = note.bar === null ? `line ${note.line}, note ${note.place}` : sectionInWords(note);
  return note.word === null ? where : `${where} on "${note.word}"`;
}

/** What is practised together: `bar 3`, `the pick-up`; the line where there are no bars. */
export function sectionInWords({ bar, line }: ReferenceNote): string {
  if (bar === null) return `line ${line}`;
  return bar === 0 ? 'the pick-up' : `bar ${bar}`;
}

/** `0.12 s`, without its sign. */
export const seconds = (sec: number): string => `${Math.abs(sec).toFixed(2)} s`;

/** `3 semitones above`, `an octave below`. */
export function intervalInWords(semitones: number): string {
  const size = Math.abs(semitones);
  const direction = semitones > 0 ? 'above' : 'below';
  if (size % 12 === 0) return `${size === 12 ? 'an octave' : `${size / 12} octaves`} ${direction}`;
  return `${countedInWords(size, 'semitone')} ${direction}`;
}
