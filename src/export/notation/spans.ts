import { TICKS_PER_BEAT } from '../../music/rhythm/metre.ts';
import type { Score, ScoreNote } from '../score.ts';

/** A stretch of the staff that one note or rest takes, in ticks. */
export interface Span {
  readonly note: ScoreNote | null;
  readonly from: number;
  readonly to: number;
  /** Onset of the whole note, if the span is a part of it. */
  readonly begins: number;
  readonly ends: number;
}

/** A span that is the whole of its note. */
function spanOf(note: ScoreNote | null, from: number, to: number): Span {
  return { note, from, to, begins: from, ends: to };
}

/** The finest value that notes are written in: a sixteenth. */
export const GRID_TICKS = 3;
export const THIRD_TICKS = 4;
const SWUNG_TICKS = 8;
const STRAIGHT_TICKS = 6;

/** Notes as written: even eighths for a swung pair. */
export function writtenSpans({ notes, beats }: Score): Span[] {
  const straight = (ticks: number) =>
    beats.swing && ticks % TICKS_PER_BEAT === SWUNG_TICKS ? ticks - SWUNG_TICKS + STRAIGHT_TICKS : ticks;
  return notes.map((note) => spanOf(note, straight(note.atTicks), straight(note.atTicks + note.lengthTicks)));
}

/** Moves notes that fit no division of their beat: each beat is divided into four or three, never both. */
export function evenOut(spans: readonly Span[]): Span[] {
  const thirds = new Set<number>();
  const quarters = new Set<number>();
  for (const { from, to } of spans) {
    for (const tick of [from, to]) {
      if (tick % TICKS_PER_BEAT === 0) continue;
      if (tick % GRID_TICKS === 0) quarters.add(Math.floor(tick / TICKS_PER_BEAT));
      else thirds.add(Math.floor(tick / TICKS_PER_BEAT));
    }
  }
  const snap = (tick: number) => {
    const beat = Math.floor(tick / TICKS_PER_BEAT);
    const unit = thirds.has(beat) && !quarters.has(beat) ? THIRD_TICKS : GRID_TICKS;
    return Math.round(tick / unit) * unit;
  };
  const even: Span[] = [];
  for (const [i, { note, from, to }] of spans.entries()) {
    const begin = Math.max(snap(from), even[i - 1]?.to ?? 0);
    const next =
      i + 1 < spans.length ? Math.max(snap(spans[i + 1].from), begin + GRID_TICKS) : Number.POSITIVE_INFINITY;
    even.push(spanOf(note, begin, Math.min(Math.max(snap(to), begin + GRID_TICKS), next)));
  }
  return even;
}

/** The parts of spans that lie between two ticks. */
export function clip(spans: readonly Span[], from: number, to: number): Span[] {
  return spans
    .filter((span) => span.from < to && span.to > from)
    .map((span) => ({ ...span, from: Math.max(span.from, from), to: Math.min(span.to, to) }));
}

/** Puts rests where no note is. */
export function fill(spans: readonly Span[], from: number, to: number): Span[] {
  const filled: Span[] = [];
  let at = from;
  for (const span of spans) {
    if (span.from > at) filled.push(spanOf(null, at, span.from));
    filled.push(span);
    at = span.to;
  }
  if (at < to) filled.push(spanOf(null, at, to));
  return filled;
}

/**
 * The first of `count` ascending places at which a monotonic test holds (binary search); `count` if it holds nowhere.
 */
function firstPlace(count: number, holds: (place: number) => boolean): number {
  let low = 0;
  let high = count;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (holds(middle)) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** Those of ascending ticks that lie between two. */
export function between(ticks: readonly number[], from: number, to: number): number[] {
  return ticks.slice(
    firstPlace(ticks.length, (i) => ticks[i] > from),
    firstPlace(ticks.length, (i) => ticks[i] >= to),
  );
}

/** Spans that overlap a range of ticks; spans must be in order and not overlap each other. */
export function spansIn(spans: readonly Span[], from: number, to: number): Span[] {
  return spans.slice(
    firstPlace(spans.length, (i) => spans[i].to > from),
    firstPlace(spans.length, (i) => spans[i].from >= to),
  );
}
