import { type Alignment, type AlignStep, align } from '../../decode/alignment.ts';
import { COSTS, pitchCosts } from './pitch-costs.ts';
import type { PlayedNote } from './played.ts';
import type { Reference, ReferenceNote } from './reference.ts';
import { withoutMadeGood, withRestarts } from './restarts.ts';
import { likelyShifts, SHIFT_GAIN } from './shift.ts';
import { TempoMap, type TimedPair } from './tempo-map.ts';

/** A take aligned with its reference. */
export interface Match {
  readonly steps: readonly AlignStep[];
  /** Semitones that the student plays above what is written. */
  readonly shift: number;
  /** Of the alignment by pitch. */
  readonly cost: number;
  /** The tempo map of each stretch between restarts, by pair. */
  readonly tempo: TempoMap;
}

/** Notes at the start of both from which the transposition is found. */
const SHIFT_NOTES = 1_500;

/**
 * Aligns a take with its reference: finds the transposition (another harp, another octave), aligns by pitch alone, and then
 * twice more by the tempo that this shows, so that of several notes of one pitch the right one counts as missed.
 */
export function matchNotes(played: readonly PlayedNote[], reference: Reference): Match {
  const { notes } = reference;
  const { shift, alignment } = findShift(played, reference);
  if (!reference.timed)
    return { steps: alignment.steps, shift, cost: alignment.cost, tempo: new TempoMap([]) };
  const told = withTempo(alignment.steps, played, reference, shift);
  // By pitch alone, going back in a tune that repeats itself looks like added notes; the tempo has to settle it.
  const addsNotes = told.steps.filter((step) => step.kind === 'added' && !played[step.a].onlyFor).length;
  const other =
    addsNotes < SEVERAL_ADDED
      ? told
      : withTempo(byPitch(played, reference, shift, null, EASILY_BACK).steps, played, reference, shift);
  const third = (other.cost < told.cost ? other : told).steps;
  const fourth = byTime(third, played, notes, new TempoMap(timedPairs(third, played, notes)));
  const tempo = new TempoMap(timedPairs(fourth, played, notes));
  const steps = withoutMadeGood(withRestarts(fourth, played, notes, shift, tempo));
  return { steps, shift, cost: alignment.cost, tempo: new TempoMap(timedPairs(steps, played, notes)) };
}

/** From this many extra notes on, the take is aligned once more. */
const SEVERAL_ADDED = 2;
/** In that second alignment going back costs this much less. */
const EASILY_BACK = 0.6;

/** Aligns a take with its reference twice more, by the tempo that an alignment shows. */
function withTempo(
  steps: readonly AlignStep[],
  played: readonly PlayedNote[],
  reference: Reference,
  shift: number,
): Alignment {
  const { notes } = reference;
  const first = new TempoMap(timedPairs(steps, played, notes));
  const second = new TempoMap(timedPairs(byPitch(played, reference, shift, first).steps, played, notes));
  return byPitch(played, reference, shift, second);
}

/** A note that comes early by this share of the step from a missing note was played in place of the missing one. */
const EARLY_SHARE = 0.7;

/**
 * Where a note is missing, and the next one, of the right pitch, comes at the time of the missing one, while what follows
 * is in time: the wrong note was played, and it hid the next.
 */
function byTime(
  steps: readonly AlignStep[],
  played: readonly PlayedNote[],
  notes: readonly ReferenceNote[],
  tempo: TempoMap,
): AlignStep[] {
  const timings = new Map(tempo.timings().map((timing) => [timing.pair.a, timing]));
  const changed = [...steps];
  steps.forEach((step, i) => {
    const next = steps[i + 1];
    if (step.kind !== 'missed' || next?.kind !== 'pair' || next.b !== step.b + 1) return;
    if (notes[step.b].chord !== undefined || played[next.a].midis.length > 1) return;
    const timing = timings.get(next.a);
    if (timing === undefined || timing.afterBeforeSec === null || timing.againstNextSec === null) return;
    const { pair, afterBeforeSec, againstNextSec } = timing;
    const stepSec = (notes[next.b].onset - notes[step.b].onset) * tempo.slopeAt(tempo.pairs.indexOf(pair));
    const early = -EARLY_SHARE * stepSec;
    if (!(afterBeforeSec < early && againstNextSec < early)) return;
    changed[i] = { kind: 'pair', a: next.a, b: step.b };
    changed[i + 1] = { kind: 'missed', b: next.b };
  });
  return changed;
}

/** The transposition, and the alignment by pitch alone with it; for long takes the beginning shows it. */
function findShift(
  played: readonly PlayedNote[],
  reference: Reference,
): { shift: number; alignment: Alignment } {
  const isLong = Math.max(played.length, reference.notes.length) > SHIFT_NOTES;
  const start = played.slice(0, SHIFT_NOTES);
  const tune = isLong ? { ...reference, notes: reference.notes.slice(0, SHIFT_NOTES) } : reference;
  let best: { shift: number; alignment: Alignment } | null = null;
  for (const shift of likelyShifts(played, reference.notes)) {
    const alignment = byPitch(start, tune, shift, null);
    if (best === null || alignment.cost < best.alignment.cost * (best.shift === 0 ? SHIFT_GAIN : 1)) {
      best = { shift, alignment };
    }
  }
  const { shift, alignment } = best!;
  return { shift, alignment: isLong ? byPitch(played, reference, shift, null) : alignment };
}

function byPitch(
  played: readonly PlayedNote[],
  reference: Reference,
  shift: number,
  tempo: TempoMap | null,
  backFor = 1,
): Alignment {
  const { notes } = reference;
  const costs = pitchCosts(played, notes, shift, backFor);
  if (tempo === null) return align(played.length, notes.length, costs);
  const late = lateness(played, notes, tempo);
  const pair = (a: number, b: number): number => costs.pair(a, b) + COSTS.time * late(a, b);
  return align(played.length, notes.length, { ...costs, pair });
}

/** How far a student's note is from the time of a note of the reference, scaled to [0, 1]. */
function lateness(
  played: readonly PlayedNote[],
  notes: readonly ReferenceNote[],
  tempo: TempoMap,
): (a: number, b: number) => number {
  const far = COSTS.timeAtBeats * shortStep(notes);
  const onsets = Float64Array.from(notes, ({ onset }) => onset);
  const places = played.map(({ onsetSec }, a) => tempo.placesOf(a, onsetSec));
  return (a, b) => {
    const told = places[a];
    if (told.length === 0) return 0;
    let off = Number.POSITIVE_INFINITY;
    for (let i = 0; i < told.length; i++) off = Math.min(off, Math.abs(told[i] - onsets[b]));
    return Math.min(1, off / far);
  };
}

/** Length of a short step from note to note, in the reference's unit: the median of the shorter half. */
function shortStep(notes: readonly ReferenceNote[]): number {
  const steps = notes.slice(1).map(({ onset }, i) => onset - notes[i].onset);
  const sorted = steps.filter((step) => step > 0).sort((x, y) => x - y);
  return sorted.length === 0 ? 1 : sorted[sorted.length >> 2];
}

/** Pairs with their times, in stretches between which the student went back. */
function timedPairs(
  steps: readonly AlignStep[],
  played: readonly PlayedNote[],
  notes: readonly ReferenceNote[],
): TimedPair[] {
  let stretch = 0;
  return steps.flatMap((step): TimedPair[] => {
    if (step.kind === 'back') stretch++;
    if (step.kind !== 'pair' || played[step.a].onlyFor) return [];
    return [{ a: step.a, b: step.b, sec: played[step.a].onsetSec, place: notes[step.b].onset, stretch }];
  });
}
