import type { MelodyNote } from '../melody.ts';
import { type Jump, jumpOf, type Mark } from './jumps.ts';
import { inVerse, type WrittenNote } from './verses.ts';

/** A sign that says in which order a tune is played, at its beat. */
export interface RepeatSign {
  readonly atBeats: number;
  /** An `ending` is for the passes in `numbers`; `close` is where the last ending is over. */
  readonly kind: 'begin' | 'end' | 'ending' | 'close';
  readonly numbers?: readonly number[];
  /** How often the section is played in all; 2 if omitted. */
  readonly times?: number;
  /** True if it is repeated after a D.C. or D.S., too. */
  readonly afterJump?: boolean;
}

/** More passes than this, and more signs in one section, are a typing error. */
const MOST_PASSES = 8;
const MOST_SIGNS = 64;
const ONCE_REMARK = 'repeats are read once, with the last ending';
export const PLAYED_REMARK =
  'repeats are written out, and bars counted as they are played; read them once with --no-repeats';

/** Times in a score that are closer than this are the same. */
const SAME_BEATS = 1e-6;

/** A stretch of the score. */
interface Span {
  readonly from: number;
  readonly to: number;
  /** The verse that is sung to it, from 1. */
  readonly verse: number;
}

interface Unfolded {
  readonly notes: MelodyNote[];
  readonly lineStarts: number[];
  /** What to say of repeats, jumps and verses. */
  readonly remarks: string[];
}

/** A score as it is written. */
interface Written {
  readonly notes: readonly WrittenNote[];
  readonly lineStarts: readonly number[];
  /** In the order of the score, as are `marks`. */
  readonly signs: readonly RepeatSign[];
  readonly marks: readonly Mark[];
}

/**
 * Notes in playing order, by repeats, endings and jumps, each time with the words of its own verse.
 * @param once  true to play each section once, with its last ending
 */
export function unfolded({ notes, lineStarts, signs, marks }: Written, once: boolean): Unfolded {
  const lines = new Set(lineStarts);
  const jump = jumpOf(marks, notes[notes.length - 1].onsetBeats);
  const isFollowed = jump !== null && typeof jump !== 'string' && !once;
  const spans = isFollowed ? spansWithJump(signs, jump) : spansOf(signs, once);
  const played: MelodyNote[] = [];
  const starts: number[] = [];
  let shift = 0;
  let before = 0;
  let sung = 1;
  for (const [k, { from, to, verse }] of spans.entries()) {
    const endBeats = spans[k + 1]?.from === to ? Number.POSITIVE_INFINITY : to;
    shift += before - from;
    let i = firstAt(notes, from);
    for (; i < notes.length && notes[i].onsetBeats < to - SAME_BEATS; i++) {
      const note = notes[i];
      if (lines.has(i) || played.length === 0) starts.push(played.length);
      const durationBeats = Math.min(note.durationBeats, endBeats - note.onsetBeats);
      played.push({ ...inVerse(note, verse), onsetBeats: note.onsetBeats + shift, durationBeats });
      if (note.laterWords !== undefined) sung = Math.max(sung, verse);
    }
    before = to;
  }
  const verses = notes.reduce((most, { laterWords = [] }) => Math.max(most, 1 + laterWords.length), 1);
  const remarks: string[] = [];
  if (signs.some(({ kind }) => kind === 'end') || isFollowed)
    remarks.push(once ? ONCE_REMARK : PLAYED_REMARK);
  if (jump !== null)
    remarks.push(typeof jump === 'string' ? jump : `${jump.name} is ${once ? 'not ' : ''}followed`);
  if (sung < verses) remarks.push(verseRemark(sung, verses));
  return { notes: played, lineStarts: starts, remarks };
}

function verseRemark(sung: number, verses: number): string {
  const left = sung + 1 < verses ? `${sung + 1} to ${verses} are` : `${verses} is`;
  return `of ${verses} verses of words, ${left} left out: the tune is played ${sung === 1 ? 'once' : `${sung} times`}`;
}

/** The stretches of the score in playing order up to a jump, back from there, usually without repeats, and the coda. */
function spansWithJump(signs: readonly RepeatSign[], jump: Jump): Span[] {
  const { atBeats, toBeats, leaveBeats, codaBeats } = jump;
  const within = (from: number, to: number) =>
    signs.filter((sign) => sign.atBeats >= from - SAME_BEATS && sign.atBeats <= to + SAME_BEATS);
  const once = !signs.some(({ afterJump }) => afterJump);
  const spans = spansOf(within(0, atBeats), false, 0, atBeats);
  const again = spansOf(within(toBeats, leaveBeats), once, toBeats, leaveBeats);
  const sung = (span: Span): number => {
    const earlier = spans.filter(({ from, to }) => from < span.to && to > span.from);
    return Math.max(...earlier.map(({ verse }) => verse), 0);
  };
  const coda =
    codaBeats === null ? [] : spansOf(within(codaBeats, Number.POSITIVE_INFINITY), false, codaBeats);
  return [...spans, ...again.map((span) => ({ ...span, verse: sung(span) + 1 })), ...coda];
}

/** The stretches of the score in playing order, from one place to another. */
function spansOf(
  signs: readonly RepeatSign[],
  once: boolean,
  fromBeats = 0,
  toBeats = Number.POSITIVE_INFINITY,
): Span[] {
  const spans: Span[] = [];
  let section = sectionFrom(signs, 0, fromBeats);
  let pass = once ? section.passes : 1;
  /** Where the stretch that is being played began; null in an ending for another pass. */
  let from: number | null = fromBeats;
  const stop = (to: number): void => {
    if (from !== null && to > from) spans.push({ from, to, verse: once ? 1 : pass });
    from = null;
  };
  for (let i = 0; i < signs.length; i++) {
    const { kind, atBeats, numbers } = signs[i];
    if (kind === 'ending') {
      if (numbers?.includes(pass)) from ??= atBeats;
      else stop(atBeats);
      continue;
    }
    const skips = from === null;
    from ??= atBeats;
    if (kind === 'end' && !skips && pass < section.passes) {
      stop(atBeats);
      from = section.atBeats;
      i = section.first - 1;
      pass++;
    } else if (i >= section.last) {
      section = sectionFrom(signs, i + 1, atBeats);
      const next = once ? section.passes : 1;
      // What follows is sung to its own first verse.
      if (next !== pass) {
        stop(atBeats);
        from = atBeats;
      }
      pass = next;
    }
  }
  stop(toBeats);
  return spans;
}

/** Position of the first note at a beat or later. */
function firstAt(notes: readonly MelodyNote[], beats: number): number {
  let low = 0;
  let high = notes.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (notes[middle].onsetBeats < beats - SAME_BEATS) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** A part of the score between two places to which a repeat may go back. */
interface Section {
  readonly atBeats: number;
  /** Positions of its first sign, and of the one that ends it. */
  readonly first: number;
  readonly last: number;
  /** How often it is played. */
  readonly passes: number;
}

/** True if an ending begins at this sign. */
function endsBefore(signs: readonly RepeatSign[], i: number): boolean {
  for (let next = i + 1; next < signs.length; next++) {
    if (signs[next].atBeats > signs[i].atBeats + SAME_BEATS) return false;
    if (signs[next].kind === 'ending') return true;
  }
  return false;
}

/**
 * The section that begins at a sign. It ends where the next one begins, with its last repeat, or at a double bar, unless it was
 * opened by a sign of its own and has no ending yet (ABC 2.1, section 4.8).
 */
function sectionFrom(signs: readonly RepeatSign[], first: number, atBeats: number): Section {
  const isOpen = first > 0 && signs[first - 1].kind === 'begin';
  const most = Math.min(signs.length, first + MOST_SIGNS);
  let passes = 1;
  let hasEndings = false;
  let last = first;
  for (; last < most; last++) {
    const { kind, numbers, times } = signs[last];
    if (kind === 'begin') break;
    if (kind === 'ending') {
      hasEndings = true;
      passes = Math.max(passes, ...(numbers ?? []));
    } else if (kind === 'end') passes = Math.max(passes, times ?? 2);
    const mayEnd = kind === 'end' || (kind === 'close' && (!isOpen || hasEndings));
    if (mayEnd && !endsBefore(signs, last)) break;
  }
  return { atBeats, first, last, passes: Math.min(MOST_PASSES, passes) };
}
