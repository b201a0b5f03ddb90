import type { AlignStep } from '../../decode/alignment.ts';
import type { PlayedNote } from './played.ts';
import type { ReferenceNote } from './reference.ts';
import type { TempoMap } from './tempo-map.ts';

/** This many extra notes in a row may be a false start: the tune begun and abandoned. */
const FEWEST = 2;
/**
 * After a false start the next note is late by at least this share of the time that it took; a player who merely adds a
 * note hurries on.
 */
const LATE_SHARE = 0.8;

/**
 * Turns extra notes that follow the tune, after which the student goes back to where they began, into a restart. The
 * alignment itself misses this where the recording lost one of them, so that adding them seemed to cost less.
 */
export function withRestarts(
  steps: readonly AlignStep[],
  played: readonly PlayedNote[],
  notes: readonly ReferenceNote[],
  shift: number,
  tempo: TempoMap,
): AlignStep[] {
  const changed: AlignStep[] = [];
  for (let i = 0; i < steps.length; ) {
    let end = i;
    while (steps[end]?.kind === 'added') end++;
    const added = steps.slice(i, end).flatMap((step) => (step.kind === 'added' ? [step.a] : []));
    const next = steps[end];
    const places =
      added.length < FEWEST || next?.kind !== 'pair'
        ? null
        : goesOn(added, next, played, notes, shift, tempo);
    if (places !== null && next?.kind === 'pair') {
      changed.push(...added.map((a, k): AlignStep => ({ kind: 'pair', a, b: places[k] })));
      changed.push({ kind: 'back', fromB: places[places.length - 1] + 1, toB: next.b });
    } else {
      changed.push(...steps.slice(i, end));
    }
    if (next !== undefined) changed.push(next);
    i = end + 1;
  }
  return changed;
}

/**
 * The places that extra notes match, by pitch and in order of time, from the place of the note after them on; no more
 * may be left out than are played. Null when they match none, or when the student did not pause after them.
 */
function goesOn(
  added: readonly number[],
  next: { readonly a: number; readonly b: number },
  played: readonly PlayedNote[],
  notes: readonly ReferenceNote[],
  shift: number,
  tempo: TempoMap,
): number[] | null {
  const before = tempo.pairs.findLastIndex((pair) => pair.a < added[0]);
  if (before < 0) return null;
  const slope = tempo.slopeAt(before);
  const { sec, place } = tempo.pairs[before];
  const secOf = (b: number): number => sec + (notes[b].onset - place) * slope;
  const [first, last] = [played[added[0]], played[added[added.length - 1]]];
  const isLate = played[next.a].onsetSec - secOf(next.b) >= LATE_SHARE * (last.offsetSec - first.onsetSec);
  if (!isLate) return null;
  const until = Math.min(notes.length, next.b + 2 * added.length);
  const places: number[] = [];
  let at = next.b;
  for (const { midi, midis, onlyFor, onsetSec } of added.map((a) => played[a])) {
    let best: number | null = null;
    for (let b = at; b < until; b++) {
      if (notes[b].chord !== undefined || notes[b].midi + shift !== midi) continue;
      if (best === null || Math.abs(secOf(b) - onsetSec) < Math.abs(secOf(best) - onsetSec)) best = b;
    }
    if (best === null || midis.length > 1 || onlyFor) return null;
    places.push(best);
    at = best + 1;
  }
  return places;
}

/** Drops notes that were missed at first but played after going back: they were right in the end. */
export function withoutMadeGood(steps: readonly AlignStep[]): AlignStep[] {
  const last = new Map<number, number>();
  steps.forEach((step, i) => {
    if (step.kind === 'pair') last.set(step.b, i);
  });
  return steps.filter((step, i) => step.kind !== 'missed' || (last.get(step.b) ?? -1) < i);
}
