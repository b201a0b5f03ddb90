import { median, quantile } from '../../statistics.ts';
import type { Reference } from '../align/reference.ts';
import type { NoteTiming, TempoMap } from '../align/tempo-map.ts';

/** Time was lost at a note whose own step is late by this share of the tolerance. */
const STEP_SHARE = 0.7;
/** A note is late only beyond this many times what is usual in the take: uneven playing is reported once. */
const UNEVEN_TIMES = 3.5;
/**
 * An onset may be detected this much too early or too late, so a note less than this beyond the tolerance is doubtful.
 * [rendered students]
 */
const ONSET_DOUBT_SEC = 0.025;
/** The notes after a late note must confirm it by this share of the limit, or it must be late by this many limits. */
const AGREES_SHARE = 0.5;
const ALONE_LIMITS = 2;
/** A pause before a phrase, kept by the rest of the phrase, is a breath up to this length. */
const LONGEST_BREATH_SEC = 1.2;
/** … unless the notes after it are that much earlier again: then only the one note was late. */
const ALONE_SHARE = 0.75;
const ALONE_TIMES = 1.2;
/** Pairs that a third of the take must have for its tempo to be measured. */
const TEMPO_NOTES = 8;

/**
 * Seconds by which each note was late (negative: early) relative to the student's own tempo, by its place in the take.
 * Only the note that loses the time exceeds the tolerance: after a stop, the notes that follow keep the new time.
 * Breaths before a phrase and the first note of each stretch are left out.
 */
export function latenessOf(tempo: TempoMap, reference: Reference, timeSec: number): Map<number, number> {
  const timings = reference.timed ? tempo.timings() : [];

  const own = timings.flatMap((timing) => (timing.afterBeforeSec === null ? [] : [ownShare(timing)]));
  const usual = own.length === 0 ? 0 : spreadOf(own);
  const limit = Math.max(timeSec + ONSET_DOUBT_SEC, UNEVEN_TIMES * usual);
  const late = new Map<number, number>();
  for (const { pair, afterBeforeSec, againstNextSec, stepSec } of timings) {
    // The first note of a stretch sets the time.
    const off = afterBeforeSec;
    if (off === null) continue;
    const caused = Math.abs(ownShare({ afterBeforeSec, stepSec })) > STEP_SHARE * limit;
    const breath =
      off > 0 &&
      off < LONGEST_BREATH_SEC &&
      reference.notes[pair.b].breathBefore &&
      againstNextSec !== null &&
      againstNextSec < Math.max(ALONE_SHARE * off, ALONE_TIMES * timeSec);
    if (breath) continue;
    // Below the scatter of the take itself, a number would only be noise.
    const within = Math.sign(off) * Math.min(Math.abs(off), timeSec * 0.99);
    const agrees =
      againstNextSec === null ||
      (Math.sign(againstNextSec) === Math.sign(off) && Math.abs(againstNextSec) > AGREES_SHARE * limit);
    const clear = Math.abs(off) > (agrees ? 1 : ALONE_LIMITS) * limit;
    late.set(pair.a, clear && caused ? off : within);
  }
  return late;
}

/** How even the time was, and whether the tempo changed. */
export interface TempoSummary {
  /** The tempo at the end relative to the start, 1.05 for five per cent faster; null when it can't be measured. */
  readonly tempoChange: number | null;
  /** Half the range of the middle 68 % of all notes' times relative to the student's own tempo, in seconds. */
  readonly unevenSec: number | null;
}

/** @param offs lateness of all notes that could be measured, in seconds */
export function summariseTempo(tempo: TempoMap, offs: readonly number[]): TempoSummary {
  const count = tempo.pairs.length;
  const unevenSec = offs.length < TEMPO_NOTES ? null : spreadOf(offs);
  if (count < 3 * TEMPO_NOTES) return { tempoChange: null, unevenSec };
  const third = Math.floor(count / 3);
  const slopes = tempo.pairs.map((_, i) => tempo.slopeAt(i)).filter((slope) => slope > 0);
  if (slopes.length < count) return { tempoChange: null, unevenSec };
  return { tempoChange: median(slopes.slice(0, third)) / median(slopes.slice(-third)), unevenSec };
}

/** The part of a note's lateness that arose at its own step: after a stop, the notes that follow only keep its time. */
function ownShare({ afterBeforeSec, stepSec }: Pick<NoteTiming, 'afterBeforeSec' | 'stepSec'>): number {
  const off = afterBeforeSec ?? 0;
  if (stepSec === null) return off;
  return Math.sign(stepSec) === Math.sign(off)
    ? Math.sign(off) * Math.min(Math.abs(off), Math.abs(stepSec))
    : 0;
}

/** Half the range of the middle 68 %. */
function spreadOf(values: readonly number[]): number {
  return (quantile(values, 0.84) - quantile(values, 0.16)) / 2;
}
