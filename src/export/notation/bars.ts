import { barTicks, isCompound, TICKS_PER_BEAT } from '../../music/rhythm/metre.ts';
import type { Score } from '../score.ts';
import { lineStarts } from './lines.ts';
import { between, clip, evenOut, fill, GRID_TICKS, type Span, spansIn, writtenSpans } from './spans.ts';
import { freeSymbol, type StaffSymbol, splitSpans } from './staff-symbols.ts';

export interface Bar {
  readonly symbols: readonly StaffSymbol[];
  readonly ticks: number;
  /**
   * Offset of its first symbol from the bar line before it; not 0 for a pick-up or for the later part of a bar that was
   * cut.
   */
  readonly offsetTicks: number;
  /** Shorter than the metre: the pick-up. */
  readonly pickup: boolean;
  /** The bar continues in the next line: no bar line at its end. */
  readonly open: boolean;
  /** A line of the tune begins with it. */
  readonly startsLine: boolean;
  /** A phrase ends in it. */
  readonly endsPhrase: boolean;
}

/**
 * The bars of a score: notes and rests cut where they cross a bar line or the middle of a beat, triplets in groups.
 * A swung take is written in even eighths. In free time each phrase is one bar, and each note one symbol.
 * @returns none for a take without notes
 */
export function buildBars(score: Score): Bar[] {
  return barsOf(score, phraseEnds(score), (cut, length) => Math.round(cut / length) * length);
}

/**
 * The bars of a score line by line: a bar in which a line ends and the next begins is cut in two there, as songbooks do.
 * In free time a line is bars of a few notes without bar lines, between which it can be broken.
 * @returns a list for each line (see `linesOf`); none for a take without notes
 */
export function buildLines(score: Score): Bar[][] {
  const lines: Bar[][] = [];
  for (const bar of barsOf(score, shownLineEnds(score), (cut) => cut, NOTES_TO_A_FREE_BAR)) {
    if (bar.startsLine || lines.length === 0) lines.push([]);
    lines[lines.length - 1].push(bar);
  }
  return lines;
}

/** In free time a line can be broken after this many notes. */
const NOTES_TO_A_FREE_BAR = 4;

/** The same for lines as shown, where a long phrase is several lines. */
function shownLineEnds(score: Score): number[] {
  const ends = phraseEnds(score);
  return [...ends, score.notes.length - 1].flatMap((last, i) => [
    ...lineStarts(score, i === 0 ? 0 : ends[i - 1] + 1, last).map((start) => start - 1),
    ...(i < ends.length ? [last] : []),
  ]);
}

/** Positions of the last notes of all phrases, and of runs between phrases, except the last. */
function phraseEnds({ take, notes }: Score): number[] {
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
    // A triplet can't be cut.
    const cut = barLine >= from && !pickup ? barLine : pickupStart(next);
    if (cut >= from) cuts.push(cut);
  }
  return cuts;
}

/**
 * @param lineEnds   positions of the last notes of all lines but the last
 * @param place     where to end a line that ends at this tick
 * @param mostNotes  of a bar in free time
 */
function barsOf(
  score: Score,
  lineEnds: readonly number[],
  place: (cut: number, barTicks: number) => number,
  mostNotes = Number.POSITIVE_INFINITY,
): Bar[] {
  const { beats } = score;
  const spans = evenOut(writtenSpans(score));
  const lastNotes = new Set(score.take.phrases.map(({ lastNote }) => lastNote));
  if (beats.metre === null) return freeBars(spans, lineEnds, mostNotes);
  const length = barTicks(beats.metre);
  const cuts = lineCuts(spans, lineEnds, length).map((cut) => place(cut, length));
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
        symbols: splitSpans(fill(clip(around, from, to), from, to), start, compound),
        ticks: to - from,
        offsetTicks: from - start,
        pickup: i === 0 && begin > start,
        open: to < start + length,
        startsLine: from === 0 || lineStarts.has(from),
        endsPhrase: around.some(
          (span) => span.note !== null && lastNotes.has(span.note.index) && span.to <= to,
        ),
      });
    }
  }
  return bars;
}

/** A pick-up begins with its first note; one that begins inside a triplet, with that beat. */
function pickupStart(tick: number): number {
  return tick % GRID_TICKS === 0 ? tick : tick - (tick % TICKS_PER_BEAT);
}

/** Shortest pause that is written in free time. */
const FREE_REST_TICKS = TICKS_PER_BEAT;

/** In free time lengths are approximate: one symbol per note, however long. */
function freeBars(spans: readonly Span[], lineEnds: readonly number[], mostNotes: number): Bar[] {
  const ends = new Set([...lineEnds, spans.length - 1]);
  const bars: Bar[] = [];
  let symbols: StaffSymbol[] = [];
  let notes = 0;
  let startsLine = true;
  for (const [i, span] of spans.entries()) {
    symbols.push(freeSymbol(span.note, span.to - span.from));
    notes++;
    const ended = ends.has(i);
    const pause = (spans[i + 1]?.from ?? span.to) - span.to;
    if (!ended && pause >= FREE_REST_TICKS) symbols.push(freeSymbol(null, pause));
    if (!ended && notes < mostNotes) continue;
    const ticks = symbols.reduce((sum, symbol) => sum + symbol.ticks, 0);
    bars.push({
      symbols,
      ticks,
      offsetTicks: 0,
      pickup: false,
      open: !ended,
      startsLine,
      endsPhrase: ended,
    });
    symbols = [];
    notes = 0;
    startsLine = ended;
  }
  return bars;
}
