import { barTicks, isCompound, TICKS_PER_BEAT } from '../../music/rhythm/metre.ts';
import type { Score, ScoreNote } from '../score.ts';

/** A sign on the staff: a note, a part of one that is tied on, or a rest. */
export interface Piece {
  /** Null for a rest. */
  readonly note: ScoreNote | null;
  readonly ticks: number;
  readonly type: 'whole' | 'half' | 'quarter' | 'eighth' | '16th';
  readonly dots: 0 | 1;
  readonly tiedFrom: boolean;
  readonly tiedTo: boolean;
  /** Three in the time of two; where in its group. */
  readonly triplet: 'start' | 'middle' | 'stop' | null;
}

export interface Bar {
  readonly pieces: readonly Piece[];
  readonly ticks: number;
  /** Shorter than the metre: the pick-up. */
  readonly pickup: boolean;
  /** A phrase ends in it. */
  readonly endsPhrase: boolean;
}

interface Span {
  readonly note: ScoreNote | null;
  readonly from: number;
  readonly to: number;
  /** Of the whole note, where the span is a part of it. */
  readonly begins: number;
  readonly ends: number;
}

function spanOf(note: ScoreNote | null, from: number, to: number): Span {
  return { note, from, to, begins: from, ends: to };
}

const GRID_TICKS = 3;
const THIRD_TICKS = 4;
const SWUNG_TICKS = 8;
const STRAIGHT_TICKS = 6;

const SIGNS: Readonly<Record<number, readonly [type: Piece['type'], dots: 0 | 1]>> = {
  48: ['whole', 0],
  36: ['half', 1],
  24: ['half', 0],
  18: ['quarter', 1],
  12: ['quarter', 0],
  9: ['eighth', 1],
  6: ['eighth', 0],
  3: ['16th', 0],
};

/**
 * The bars of a score: notes and rests cut where they cross a bar line or the middle of a beat, triplets in groups.
 * A swung take is written in even eighths. In free time each phrase is one bar.
 * @returns none for a take without notes
 */
export function buildBars(score: Score): Bar[] {
  const { beats } = score;
  const spans = evenOut(writtenSpans(score));
  const phraseEnds = score.take.phrases.map(({ lastNote }) => lastNote);
  if (beats.metre === null) return freeBars(spans, score, phraseEnds);
  const length = barTicks(beats.metre);
  const compound = isCompound(beats.metre);
  const end = spans.length > 0 ? spans[spans.length - 1].to : 0;
  const bars: Bar[] = [];
  for (let from = 0; from < end; from += length) {
    const begin = from === 0 && beats.pickupTicks > 0 ? pickupStart(spans[0].from) : from;
    const inside = fill(clip(spans, begin, from + length), begin, from + length);
    bars.push({
      pieces: cutSpans(inside, from, compound),
      ticks: from + length - begin,
      pickup: begin > from,
      endsPhrase: spans.some(
        (span) =>
          span.note && phraseEnds.includes(span.note.index) && span.to > from && span.to <= from + length,
      ),
    });
  }
  return bars;
}

/** A pick-up begins with its first note; one that begins inside a triplet, with that beat. */
function pickupStart(tick: number): number {
  return tick % GRID_TICKS === 0 ? tick : tick - (tick % TICKS_PER_BEAT);
}

/** Where notes stand as written: even eighths for a swung pair. */
function writtenSpans({ notes, beats }: Score): Span[] {
  const straight = (ticks: number) =>
    beats.swing && ticks % TICKS_PER_BEAT === SWUNG_TICKS ? ticks - SWUNG_TICKS + STRAIGHT_TICKS : ticks;
  return notes.map((note) => spanOf(note, straight(note.atTicks), straight(note.atTicks + note.lengthTicks)));
}

/** Moves what fits no division of its beat: each beat is divided by four or by three, never both. */
function evenOut(spans: readonly Span[]): Span[] {
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

function clip(spans: readonly Span[], from: number, to: number): Span[] {
  return spans
    .filter((span) => span.from < to && span.to > from)
    .map((span) => ({ ...span, from: Math.max(span.from, from), to: Math.min(span.to, to) }));
}

/** Puts rests where no note is. */
function fill(spans: readonly Span[], from: number, to: number): Span[] {
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

function freeBars(spans: readonly Span[], { notes }: Score, phraseEnds: readonly number[]): Bar[] {
  const bars: Bar[] = [];
  let from = 0;
  let first = 0;
  const ends = [...phraseEnds.filter((end) => end < notes.length - 1), notes.length - 1];
  for (const last of notes.length === 0 ? [] : ends) {
    if (last < first) continue;
    const to = last + 1 < spans.length ? spans[last + 1].from : spans[last].to;
    const inside = fill(spans.slice(first, last + 1), from, to);
    bars.push({ pieces: cutSpans(inside, from, false), ticks: to - from, pickup: false, endsPhrase: true });
    from = to;
    first = last + 1;
  }
  return bars;
}

function cutSpans(spans: readonly Span[], barStart: number, compound: boolean): Piece[] {
  const triplets = tripletBeats(spans);
  const pieces: Piece[] = [];
  for (const span of spans) {
    let at = span.from;
    while (at < span.to) {
      const ticks = nextCut(at, span.to, barStart, compound, triplets);
      pieces.push(pieceOf(span, at, ticks, triplets));
      at += ticks;
    }
  }
  return pieces;
}

function tripletBeats(spans: readonly Span[]): Set<number> {
  const beats = new Set<number>();
  for (const { from, to } of spans) {
    for (const tick of [from, to]) if (tick % GRID_TICKS !== 0) beats.add(Math.floor(tick / TICKS_PER_BEAT));
  }
  return beats;
}

/** Ticks of the next sign of a stretch. */
function nextCut(
  at: number,
  to: number,
  barStart: number,
  compound: boolean,
  triplets: ReadonlySet<number>,
): number {
  const beat = Math.floor(at / TICKS_PER_BEAT);
  if (triplets.has(beat)) return Math.min(to, (beat + 1) * TICKS_PER_BEAT) - at;
  let limit = to;
  for (const other of triplets) {
    const start = other * TICKS_PER_BEAT;
    if (start > at && start < limit) limit = start;
  }
  const room = limit - at;
  return signsFrom(at - barStart, compound).find((ticks) => ticks <= room) ?? GRID_TICKS;
}

/** Signs that may begin at this place of the bar, longest first: what begins inside a beat does not hide the next. */
function signsFrom(tick: number, compound: boolean): readonly number[] {
  if (compound) {
    const inPulse = tick % 18;
    if (inPulse === 0) return [36, 18, 12, 9, 6, 3];
    if (inPulse === 6) return [12, 9, 6, 3];
    return inPulse === 12 ? [6, 3] : [3];
  }
  const inBeat = tick % TICKS_PER_BEAT;
  if (inBeat === 0) return tick % 24 === 0 ? [48, 36, 24, 18, 12, 9, 6, 3] : [36, 24, 18, 12, 9, 6, 3];
  if (inBeat === 6) return [12, 6, 3];
  return inBeat === 3 ? [9, 6, 3] : [3];
}

function pieceOf(span: Span, at: number, ticks: number, triplets: ReadonlySet<number>): Piece {
  const tied = span.note !== null;
  const ties = { tiedFrom: tied && at > span.begins, tiedTo: tied && at + ticks < span.ends };
  const beat = Math.floor(at / TICKS_PER_BEAT);
  const { note } = span;
  if (!triplets.has(beat)) {
    const [type, dots] = SIGNS[ticks] ?? ['16th', 0];
    return { note, ticks, type, dots, ...ties, triplet: null };
  }
  const inBeat = at % TICKS_PER_BEAT;
  return {
    note,
    ticks,
    type: ticks > THIRD_TICKS ? 'quarter' : 'eighth',
    dots: 0,
    ...ties,
    triplet: inBeat === 0 ? 'start' : inBeat + ticks === TICKS_PER_BEAT ? 'stop' : 'middle',
  };
}
