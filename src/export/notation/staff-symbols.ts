import { TICKS_PER_BEAT } from '../../music/rhythm/metre.ts';
import type { ScoreNote } from '../score.ts';
import { GRID_TICKS, type Span, THIRD_TICKS } from './spans.ts';

/** A symbol on the staff: a note, a part of a tied note, or a rest. */
export interface StaffSymbol {
  /** Null for a rest. */
  readonly note: ScoreNote | null;
  readonly ticks: number;
  readonly type: 'breve' | 'whole' | 'half' | 'quarter' | 'eighth' | '16th';
  readonly dots: 0 | 1;
  readonly tiedFrom: boolean;
  readonly tiedTo: boolean;
  /** Its place in a triplet, three in the time of two; null if it is in none. */
  readonly triplet: 'start' | 'middle' | 'stop' | null;
}

/** Lengths in ticks that a single symbol can have. */
const NOTE_VALUES: Readonly<Record<number, readonly [type: StaffSymbol['type'], dots: 0 | 1]>> = {
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

/** The single symbol for a note in free time: the one whose length is nearest. */
export function freeSymbol(note: ScoreNote | null, ticks: number): StaffSymbol {
  const off = (sign: number) => Math.abs(Math.log(sign / ticks));
  const nearest = Object.keys(NOTE_VALUES)
    .map(Number)
    .reduce((best, each) => (off(each) < off(best) ? each : best));
  const [type, dots] = NOTE_VALUES[nearest];
  return { note, ticks: nearest, type, dots, tiedFrom: false, tiedTo: false, triplet: null };
}

/** The symbols of a bar's spans. */
export function splitSpans(spans: readonly Span[], barStart: number, compound: boolean): StaffSymbol[] {
  const triplets = tripletBeats(spans);
  const symbols: StaffSymbol[] = [];
  for (const span of spans) {
    let at = span.from;
    while (at < span.to) {
      const ticks = nextCut(at, span.to, barStart, compound, triplets);
      symbols.push(symbolOf(span, at, ticks, triplets));
      at += ticks;
    }
  }
  return symbols;
}

function tripletBeats(spans: readonly Span[]): Set<number> {
  const beats = new Set<number>();
  for (const { from, to } of spans) {
    for (const tick of [from, to]) if (tick % GRID_TICKS !== 0) beats.add(Math.floor(tick / TICKS_PER_BEAT));
  }
  return beats;
}

/** Length of the next symbol of a stretch, in ticks. */
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

/**
 * Lengths of the symbols that may begin at this place of the bar, longest first: one that begins inside a beat must not
 * hide the next beat.
 */
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

function symbolOf(span: Span, at: number, ticks: number, triplets: ReadonlySet<number>): StaffSymbol {
  const tied = span.note !== null;
  const ties = { tiedFrom: tied && at > span.begins, tiedTo: tied && at + ticks < span.ends };
  const beat = Math.floor(at / TICKS_PER_BEAT);
  const { note } = span;
  if (!triplets.has(beat)) {
    const [type, dots] = NOTE_VALUES[ticks] ?? ['16th', 0];
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
