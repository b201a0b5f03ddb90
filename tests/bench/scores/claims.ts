import type { RealEvent } from '../real/real-labels.ts';
import { type HeardEvent, neutral, samePitch, sameSet } from '../real/real-score.ts';
import type { ReferenceNote } from '../sets/takes.ts';
import { maximumMatching } from './matching.ts';

/** Something that was played, or was reported, in seconds. */
interface Span {
  readonly onsetSec: number;
  readonly offsetSec: number;
}

const ONSET_SEC = 0.05;
/** What begins nearer than this to the beginning or end of a note is not inside it. */
const INSIDE_SEC = 0.04;
/** A second reed this far below the note still belongs to what sounds. */
const TOGETHER_DB = -10;

/**
 * For each heard event, whether its whole claim is right: something of just these pitches begins there, and it is one
 * thing, neither a piece of one nor several. Null where the label does not tell.
 */
export function realClaims(events: readonly RealEvent[], heard: readonly HeardEvent[]): (boolean | null)[] {
  const sure = events.filter((event) => event.sure);
  const right = wholeClaims(
    sure,
    heard,
    (event, one, lateSec) => lateSec <= (event.onsetTolSec ?? ONSET_SEC) && sameSet(event, one),
  );
  return heard.map((one, i) => (!right[i] && neutral(one, events) ? null : right[i]));
}

/** The same for a rendered take, whose truth tells everything. */
export function renderedClaims(notes: readonly ReferenceNote[], heard: readonly HeardEvent[]): boolean[] {
  return wholeClaims(notes, heard, (note, one, lateSec) => {
    const along = note.leak !== null && note.leak.dB >= TOGETHER_DB;
    return (
      lateSec <= ONSET_SEC &&
      one.pitchesHz.some((hz) => samePitch(hz, note.f0Hz)) &&
      (one.pitchesHz.length === 1 || (along && one.pitchesHz.length === 2))
    );
  });
}

function wholeClaims<T extends Span>(
  played: readonly T[],
  heard: readonly HeardEvent[],
  fits: (one: T, said: HeardEvent, lateSec: number) => boolean,
): boolean[] {
  const matching = maximumMatching(
    played.map((one) =>
      heard.flatMap((said, i) => {
        const lateSec = Math.round(Math.abs(said.onsetSec - one.onsetSec) * 1e4) / 1e4;
        return fits(one, said, lateSec) ? [i] : [];
      }),
    ),
    heard.length,
  );
  const ofHeard = new Map<number, number>();
  matching.forEach((said, one) => {
    if (said >= 0) ofHeard.set(said, one);
  });
  return heard.map((said, i) => {
    const own = ofHeard.get(i);
    if (own === undefined) return false;
    const isPiece = heard.some((other, k) => !ofHeard.has(k) && beginsInside(other, played[own]));
    const isSeveral = played.some((other, k) => matching[k] < 0 && beginsInside(other, said));
    return !isPiece && !isSeveral;
  });
}

function beginsInside(one: Span, whole: Span): boolean {
  return one.onsetSec > whole.onsetSec + INSIDE_SEC && one.onsetSec < whole.offsetSec - INSIDE_SEC;
}
