import { barTicks, isCompound, TICKS_PER_BEAT } from '../../music/rhythm/metre.ts';
import type { Score, ScoreNote } from '../score.ts';

/** A sign on the staff: a note, a part of one that is tied on, or a rest. */
export interface Piece {
  /** Null for a rest. */
  readonly note: ScoreNote | null;
  readonly ticks: number;
  readonly type: 'breve' | 'whole' | 'half' | 'quarter' | 'eighth' | '16th';
  readonly dots: 0 | 1;
  readonly tiedFrom: boolean;
  readonly tiedTo: boolean;
  /** Three in the time of two; where in its group. */
  readonly triplet: 'start' | 'middle' | 'stop' | null;
}

export interface Bar {
  readonly pieces: readonly Piece[];
  readonly ticks: number;
  /** Of its first sign from the bar line before it; not 0 for a pick-up and for the later part of a bar that was cut. */
  readonly offsetTicks: number;
  /** Shorter than the metre: the pick-up. */
  readonly pickup: boolean;
  /** The bar goes on in the next line: no bar line at its end. */
  readonly open: boolean;
  /** A line of the tune begins with it. */
  readonly startsLine: boolean;
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
  96: ['breve', 0],
  72: ['whole', 1],
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
 * A swung take is written in even eighths. In free time each phrase is one bar, and each note one sign.
 * @returns none for a take without notes
 */
export function buildBars(score: Score): Bar[] {
  return barsOf(score, (cut, length) => Math.round(cut / length) * length);
}

/**
 * The bars of a score line by line: a bar in which a phrase ends and the next begins is cut in two there, as songbooks do.
 * @returns a list for each phrase, and for notes outside all phrases; none for a take without notes
 */
export function buildLines(score: Score): Bar[][] {
  const lines: Bar[][] = [];
  for (const bar of barsOf(score, (cut) => cut)) {
    if (bar.startsLine || lines.length === 0) lines.push([]);
    lines[lines.length - 1].push(bar);
  }
  return lines;
}

/** Positions of the last notes of all lines but the last. */
function lineEnds({ take, notes }: Score): number[] {
  const ends = new Set<number>();
  for (const { firstNote, lastNote } of take.phrases) {
    if (firstNote > 0) ends.add(firstNote - 1);
    ends.add(lastNote);
  }
  return [...ends].filter((end) => end < notes.length - 1).sort((a, b) => a - b);
}

/** Where lines end, in ticks: at a bar line in the pause before the next line, or else with its first note. */
function lineCuts(spans: readonly Span[], ends: readonly number[], length: number): number[] {
  const cuts: number[] = [];
  for (const end of ends) {
    const from = spans[end].to;
    const next = spans[end + 1].from;
    const barLine = next - (next % length);
    const pickup = next - barLine > length / 2;
    // Inside a triplet there is no place to cut.
    const cut = barLine >= from && !pickup ? barLine : pickupStart(next);
    if (cut >= from) cuts.push(cut);
  }
  return cuts;
}

/** @param place  where a line that ends at this tick is ended */
function barsOf(score: Score, place: (cut: number, barTicks: number) => number): Bar[] {
  const { beats } = score;
  const spans = evenOut(writtenSpans(score));
  const phraseEnds = new Set(score.take.phrases.map(({ lastNote }) => lastNote));
  if (beats.metre === null) return freeBars(spans, lineEnds(score));
  const length = barTicks(beats.metre);
  const cuts = lineCuts(spans, lineEnds(score), length).map((cut) => place(cut, length));
  const lineStarts = new Set(cuts);
  const compound = isCompound(beats.metre);
  const end = spans.length > 0 ? spans[spans.length - 1].to : 0;
  const bars: Bar[] = [];
  for (let start = 0; start < end; start += length) {
    const begin = start === 0 && beats.pickupTicks > 0 ? pickupStart(spans[0].from) : start;
    const inside = between(cuts, begin, start + length);
    for (const [i, from] of [begin, ...inside].entries()) {
      const to = inside[i] ?? start + length;
      const around = spansIn(spans, from, to);
      bars.push({
        pieces: cutSpans(fill(clip(around, from, to), from, to), start, compound),
        ticks: to - from,
        offsetTicks: from - start,
        pickup: i === 0 && begin > start,
        open: to < start + length,
        startsLine: from === 0 || lineStarts.has(from),
        endsPhrase: around.some(
          (span) => span.note !== null && phraseEnds.has(span.note.index) && span.to <= to,
        ),
      });
    }
  }
  return bars;
}

/** The first of `count` places, whose order is that of the test, at which it holds; `count` when it holds nowhere. */
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
function between(ticks: readonly number[], from: number, to: number): number[] {
  return ticks.slice(
    firstPlace(ticks.length, (i) => ticks[i] > from),
    firstPlace(ticks.length, (i) => ticks[i] >= to),
  );
}

/** Spans that have a part between two ticks; no span begins before the one ahead of it ends. */
function spansIn(spans: readonly Span[], from: number, to: number): Span[] {
  return spans.slice(
    firstPlace(spans.length, (i) => spans[i].to > from),
    firstPlace(spans.length, (i) => spans[i].from >= to),
  );
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

/** Shortest pause that is written in free time. */
const FREE_REST_TICKS = TICKS_PER_BEAT;

/** In free time a length is about as long as its sign says: one sign a note, however long. */
function freeBars(spans: readonly Span[], lineEnds: readonly number[]): Bar[] {
  const ends = new Set([...lineEnds, spans.length - 1]);
  const bars: Bar[] = [];
  let pieces: Piece[] = [];
  for (const [i, span] of spans.entries()) {
    pieces.push(freePiece(span.note, span.to - span.from));
    const pause = (spans[i + 1]?.from ?? span.to) - span.to;
    if (!ends.has(i)) {
      if (pause >= FREE_REST_TICKS) pieces.push(freePiece(null, pause));
      continue;
    }
    const ticks = pieces.reduce((sum, piece) => sum + piece.ticks, 0);
    bars.push({
      pieces,
      ticks,
      offsetTicks: 0,
      pickup: false,
      open: false,
      startsLine: true,
      endsPhrase: true,
    });
    pieces = [];
  }
  return bars;
}

function freePiece(note: ScoreNote | null, ticks: number): Piece {
  const off = (sign: number) => Math.abs(Math.log(sign / ticks));
  const sign = Object.keys(SIGNS)
    .map(Number)
    .reduce((best, each) => (off(each) < off(best) ? each : best));
  const [type, dots] = SIGNS[sign];
  return { note, ticks: sign, type, dots, tiedFrom: false, tiedTo: false, triplet: null };
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
