import type { Choice, CostParts } from './cost.ts';
import type { ArrangedTune, Prices } from './tablature.ts';
import { BREATH_STEP_SEC, type Tune } from './tune.ts';

/** A note that is hard, and why, in the player's words. */
export interface HardNote {
  /** Position in the tune, from 0. */
  readonly noteIndex: number;
  readonly why: string;
}

/** Notes with fewer points are not worth mentioning; a plain half-tone draw bend has 1. */
const WORTH_A_WORD = 0.5;
/** The length of a bend is mentioned from here on. */
const TELL_HELD_SEC = 1;
/** A leap is mentioned from this many holes on. */
const TELL_LEAP_HOLES = 3;
const DEPTHS = ['', 'half-tone', 'whole-tone', 'tone-and-a-half'];

/** The hardest notes of an arrangement, hardest first. @param limit  the most notes to return */
export function hardestNotes(tune: Tune, laid: ArrangedTune, limit: number): HardNote[] {
  const prices = laid.prices();
  return prices.parts
    .map((parts, noteIndex) => ({ noteIndex, points: pointsOf(parts) }))
    .filter(({ points }) => points >= WORTH_A_WORD)
    .sort((a, b) => b.points - a.points || a.noteIndex - b.noteIndex)
    .slice(0, limit)
    .map(({ noteIndex }) => ({ noteIndex, why: why(tune, laid, prices, noteIndex) }));
}

/** Notes that the harp does not have, positions in the tune from 0. */
export function missingNotes(laid: ArrangedTune): number[] {
  return laid.choices.flatMap((choice, i) => (choice === null ? [i] : []));
}

/** `line 2, note 5`, `line 1, last note`. */
export function placeInWords(tune: Tune, noteIndex: number): string {
  let line = 0;
  for (let end = tune.lineStarts.length; end - line > 1; ) {
    const middle = (line + end) >> 1;
    if (tune.lineStarts[middle] <= noteIndex) line = middle;
    else end = middle;
  }
  const start = tune.lineStarts[line] ?? 0;
  const end = tune.lineStarts[line + 1] ?? tune.notes.length;
  const place = noteIndex === end - 1 ? 'last note' : `note ${noteIndex - start + 1}`;
  return `line ${line + 1}, ${place}`;
}

/** Points for what makes a note itself hard. Holes 8 to 10 need no mention: the tab shows them. */
function pointsOf(parts: CostParts): number {
  return parts.bend + parts.exposure + parts.overbend + parts.movement + parts.breath;
}

function why(tune: Tune, laid: ArrangedTune, prices: Prices, i: number): string {
  const choice = laid.choices[i] as Choice;
  const before = i === 0 ? null : laid.choices[i - 1];
  const tuneNote = tune.notes[i];
  const parts = prices.parts[i];
  const { hole, breath, bend, over } = choice.note;
  const reasons: string[] = [];
  if (over) reasons.push(`${breath === 'blow' ? 'overblow' : 'overdraw'} on ${hole}`);
  if (bend > 0) reasons.push(`${DEPTHS[bend]} ${breath} bend on ${hole}`);
  const holes = before ? Math.abs(before.note.hole - hole) : 0;
  if (over || bend > 0) {
    if (tuneNote.durationSec >= TELL_HELD_SEC) reasons.push(`held ${tuneNote.durationSec.toFixed(1)} s`);
    if (holes === 0 && before?.note.breath === breath && tuneNote.restSec === 0) reasons.push('glided into');
    else if (holes >= 2) reasons.push(`after a leap from ${before!.note.hole}`);
    else reasons.push('attacked without a glide');
  } else if (holes >= TELL_LEAP_HOLES) {
    reasons.push(`leap of ${holes} holes from ${before!.note.hole} to ${hole}`);
  }
  if (parts.breath > 0) {
    const seconds = Math.abs(prices.lungs[i]) * BREATH_STEP_SEC;
    reasons.push(`lungs ${breath === 'draw' ? 'full' : 'empty'} after ${Math.round(seconds)} s of ${breath}`);
  }
  if (reasons.length === 0) reasons.push(`move from ${before?.note.hole ?? hole} to ${hole}`);
  return `${placeInWords(tune, i)}: ${reasons.join(', ')}`;
}
