import { type Alignment, type AlignStep, align } from '../../decode/alignment.ts';
import type { PlayableNote } from '../../harp/types.ts';
import type { TabNote } from '../../tab/tab-note.ts';
import type { Take } from '../../take/schema.ts';
import { KindCosts, kindOf } from './kind-costs.ts';
import { type Reference, type ReferenceNote, soundingMidis } from './reference.ts';
import { TempoMap, type TimedPair } from './tempo-map.ts';

/** A note of the student's, as much as matching needs. */
export interface PlayedNote {
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** How sure it is, [0, 1]. */
  readonly confidence: number;
  /** Integer MIDI number of what it is on the student's harp; of several holes the highest. */
  readonly midi: number;
  /** All that sounds, ascending. */
  readonly midis: readonly number[];
  readonly tab: TabNote;
  /** True when it is too unsure, or too short, to count against anyone: it can only stand for a note of its pitch. */
  readonly onlyFor?: boolean;
}

/** Notes of a take as matching needs them. @param onlyFor  ids of those that can't count against anyone */
export function playedOf(
  notes: readonly Take['notes'][number][],
  harp: readonly PlayableNote[],
  onlyFor: ReadonlySet<string> = new Set(),
): PlayedNote[] {
  return notes.map((note) => {
    const midis = soundingMidis(harp, note);
    return {
      onsetSec: note.onsetSec,
      offsetSec: note.offsetSec,
      confidence: note.confidence,
      midi: midis[midis.length - 1],
      midis,
      tab: note,
      onlyFor: onlyFor.has(note.id),
    };
  });
}

/** A take laid along its reference. */
export interface Match {
  readonly steps: readonly AlignStep[];
  /** Semitones that the student plays above what is written. */
  readonly shift: number;
  /** Of the alignment by pitch. */
  readonly cost: number;
  /** Stretches of steps between goings back: the tempo map of each, by pair. */
  readonly tempo: TempoMap;
}

/**
 * What goes wrong how often, as costs against each other: a changed note is likelier than one added and another
 * missed; going back over two notes is likelier than adding both. [set on hand-made takes, tests/check]
 */
const COSTS = {
  added: 0.75,
  /** A note that can't count against anyone, and stands for nothing. */
  ignored: 0.01,
  missed: 0.75,
  back: 1.1,
  /** … to where a bar or line begins, as people do. */
  backToStart: 0.95,
  wrong: 1.1,
  neighbour: 0.9,
  octave: 0.7,
  otherBend: 0.6,
  otherHole: 0.03,
  /** Holes that sound and should not, or should and don't, all of them; a share of them costs that share. */
  otherHoles: 0.6,
  /** A note this far from its time costs so much more; further off no more than that. */
  time: 0.5,
  timeAtBeats: 1,
} as const;

/** Transpositions that are looked into, most promising first, beside none. */
const SHIFTS_TRIED = 4;
/** Beyond three octaves no two harps are apart. */
const WIDEST_SHIFT = 36;
/** Notes from the start of both that vote on the transposition. */
const VOTERS = 400;
/** Notes in a row whose steps must agree for a vote. */
const VOTE_NOTES = 4;
/** A transposition must save this share of the cost to be believed against playing at pitch. */
const SHIFT_GAIN = 0.9;
/** Notes of either that tell it. */
const SHIFT_NOTES = 1_500;

/**
 * Lays a take along its reference: the transposition first (another harp, another octave), then by pitch alone, and
 * twice more with what that tells of the tempo, so that of several notes of one pitch the right one is missed.
 */
export function matchNotes(played: readonly PlayedNote[], reference: Reference): Match {
  const { notes } = reference;
  const { shift, alignment } = findShift(played, reference);
  if (!reference.timed)
    return { steps: alignment.steps, shift, cost: alignment.cost, tempo: new TempoMap([]) };
  const told = withTempo(alignment.steps, played, reference, shift);
  // Who goes back in a tune that repeats itself seems to add notes, by pitch alone: then by its tempo the other way must be worse.
  const addsNotes = told.steps.filter((step) => step.kind === 'added' && !played[step.a].onlyFor).length;
  const other =
    addsNotes < SEVERAL_ADDED
      ? told
      : withTempo(byPitch(played, reference, shift, null, EASILY_BACK).steps, played, reference, shift);
  const third = (other.cost < told.cost ? other : told).steps;
  const steps = byTime(third, played, notes, new TempoMap(timedPairs(third, played, notes)));
  return { steps, shift, cost: alignment.cost, tempo: new TempoMap(timedPairs(steps, played, notes)) };
}

/** So many notes too many are looked at again. */
const SEVERAL_ADDED = 2;
/** Going back is so much cheaper for the second look. */
const EASILY_BACK = 0.6;

/** Lays a take along its reference again, twice, by what an alignment tells of the tempo. */
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

/** A note that comes early by this share of the step from the note before it, which is missing, was played for that one. */
const EARLY_SHARE = 0.7;

/**
 * Where a note is missing and the next one, of the pitch that is wanted, comes at the time of the missing one, while what follows
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

/** The transposition, and the alignment by pitch alone with it; that of long takes is told by how they begin. */
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
  const late = tempo === null ? null : lateness(played, notes, tempo);
  const costs = new KindCosts(
    played.map(({ midis, tab, onlyFor }) => kindOf(midis, tab, onlyFor === true)),
    notes.map(({ midi, chord, tab }) => kindOf(chord ?? [midi], tab, chord !== undefined)),
    (a, b) => pairCost(played[a], notes[b], shift),
  );
  return align(played.length, notes.length, {
    pair: late === null ? (a, b) => costs.of(a, b) : (a, b) => costs.of(a, b) + COSTS.time * late(a, b),
    added: (a) => (played[a].onlyFor ? COSTS.ignored : COSTS.added),
    missed: () => COSTS.missed,
    back: (b) => backFor * (startsBar(notes, b) ? COSTS.backToStart : COSTS.back),
  });
}

/** How far a note of the student's is from the time of one of the reference, 0 to 1. */
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

function pairCost(played: PlayedNote, wanted: ReferenceNote, shift: number): number {
  if (played.onlyFor && played.midi !== wanted.midi + shift) return Number.POSITIVE_INFINITY;
  if (played.midis.length > 1 || wanted.chord !== undefined) {
    const { common, missing, extra } = compareSounds(played.midis, wanted, shift);
    const all = common.length + missing.length + extra.length;
    return common.length === 0 ? COSTS.wrong : COSTS.otherHoles * (1 - common.length / all);
  }
  const apart = played.midi - wanted.midi - shift;
  if (apart === 0) return wanted.tab === null || sameReed(played.tab, wanted.tab) ? 0 : COSTS.otherHole;
  if (apart % 12 === 0) return COSTS.octave;
  if (wanted.tab !== null && sameReed(played.tab, wanted.tab) && Math.abs(apart) === 1)
    return COSTS.otherBend;
  return Math.abs(apart) <= 2 ? COSTS.neighbour : COSTS.wrong;
}

/** What sounds of what is wanted, what of it doesn't, and what sounds beside it; integer MIDI numbers as played. */
export function compareSounds(
  midis: readonly number[],
  { midi, chord = [midi] }: Pick<ReferenceNote, 'midi' | 'chord'>,
  shift: number,
): { common: readonly number[]; missing: readonly number[]; extra: readonly number[] } {
  const wanted = chord.map((each) => each + shift);
  return {
    common: midis.filter((each) => wanted.includes(each)),
    missing: wanted.filter((each) => !midis.includes(each)),
    extra: midis.filter((each) => !wanted.includes(each)),
  };
}

/** True when both are played on one hole in one breath. */
export function sameReed(a: TabNote, b: TabNote): boolean {
  return a.hole === b.hole && a.breath === b.breath && a.over === b.over;
}

function startsBar(notes: readonly ReferenceNote[], b: number): boolean {
  return b === 0 || notes[b].line !== notes[b - 1].line || notes[b].bar !== notes[b - 1].bar;
}

/** What a short step from note to note is, in the reference's unit: the median of the shorter half. */
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

/** Transpositions for which runs of notes agree, by votes; playing at pitch comes first. */
function likelyShifts(all: readonly PlayedNote[], notes: readonly ReferenceNote[]): number[] {
  const votes = new Map<number, number>();
  const played = all.filter(({ onlyFor }) => !onlyFor);
  const countA = Math.min(played.length, VOTERS);
  const countB = Math.min(notes.length, VOTERS);
  for (let a = 0; a + VOTE_NOTES <= countA; a++) {
    for (let b = 0; b + VOTE_NOTES <= countB; b++) {
      const shift = played[a].midi - notes[b].midi;
      let agrees = Math.abs(shift) <= WIDEST_SHIFT;
      for (let k = 1; agrees && k < VOTE_NOTES; k++)
        agrees = played[a + k].midi - notes[b + k].midi === shift;
      if (agrees) votes.set(shift, (votes.get(shift) ?? 0) + 1);
    }
  }
  const ranked = [...votes].sort((x, y) => y[1] - x[1]).map(([shift]) => shift);
  return [0, ...ranked.filter((shift) => shift !== 0).slice(0, SHIFTS_TRIED)];
}
