import type { MelodyNote } from '../melody.ts';

/** A sign that says in which order a tune is played, at its beat. */
export interface RepeatSign {
  readonly atBeats: number;
  /** An `ending` is for the passes in `numbers`; `close` is where the last ending is over. */
  readonly kind: 'begin' | 'end' | 'ending' | 'close';
  readonly numbers?: readonly number[];
  /** How often the section is played in all; 2 if omitted. */
  readonly times?: number;
}

/** More passes than this, and more signs in one section, are a typing error. */
const MOST_PASSES = 8;
const MOST_SIGNS = 64;
const ONCE_REMARK = 'repeats are read once, with the last ending';
export const PLAYED_REMARK =
  'repeats are written out, and bars counted as they are played; read them once with --no-repeats';

/** Times in a score that are closer than this are the same. */
const SAME_BEATS = 1e-6;

interface Span {
  readonly from: number;
  readonly to: number;
}

interface Unfolded {
  readonly notes: MelodyNote[];
  readonly lineStarts: number[];
}

/** What to say of the repeats of a score; nothing if it has none. */
export function repeatRemarks(signs: readonly RepeatSign[], once: boolean): string[] {
  return signs.some(({ kind }) => kind === 'end') ? [once ? ONCE_REMARK : PLAYED_REMARK] : [];
}

/**
 * Notes in playing order, by repeats and endings.
 * @param signs  in the order of the score
 * @param once  true to play each section once, with its last ending
 */
export function unfolded(
  notes: readonly MelodyNote[],
  lineStarts: readonly number[],
  signs: readonly RepeatSign[],
  once: boolean,
): Unfolded {
  const lines = new Set(lineStarts);
  const played: MelodyNote[] = [];
  const starts: number[] = [];
  let shift = 0;
  let before = 0;
  for (const { from, to } of spansOf(signs, once)) {
    shift += before - from;
    let i = firstAt(notes, from);
    for (; i < notes.length && notes[i].onsetBeats < to - SAME_BEATS; i++) {
      const note = notes[i];
      if (lines.has(i) || played.length === 0) starts.push(played.length);
      const durationBeats = Math.min(note.durationBeats, to - note.onsetBeats);
      played.push({ ...note, onsetBeats: note.onsetBeats + shift, durationBeats });
    }
    before = to;
  }
  return { notes: played, lineStarts: starts };
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

/** The stretches of the score in playing order; the last goes on to the end. */
function spansOf(signs: readonly RepeatSign[], once: boolean): Span[] {
  const spans: Span[] = [];
  let section = sectionFrom(signs, 0, 0);
  let pass = once ? section.passes : 1;
  /** Where the stretch that is being played began; null in an ending for another pass. */
  let from: number | null = 0;
  const stop = (to: number): void => {
    if (from !== null && to > from) spans.push({ from, to });
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
      pass = once ? section.passes : 1;
    }
  }
  stop(Number.POSITIVE_INFINITY);
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
