import type { SoundEvent } from '../analysis/events.ts';
import { HARP_KEYS, harpKey, parseHarpKey } from '../harp/keys.ts';
import { LAYOUTS } from '../harp/layouts.ts';
import { type CustomHarp, playableNotes } from '../harp/playable.ts';
import { positionOf } from '../harp/positions.ts';
import type { HarpSpec, PlayableNote } from '../harp/types.ts';
import { keynoteFits } from '../music/keynote.ts';
import { hzToMidi } from '../units.ts';
import { harpScore } from './holes.ts';

/** A harp that may have been played, with how likely it is among all. */
export interface HarpGuess {
  readonly key: string;
  readonly tuning: string;
  /** [0, 1]; all guesses sum to 1. */
  readonly confidence: number;
}

/** The harp of a take: named by the player, or found with its runners-up. */
export interface FoundHarp extends HarpSpec {
  /** How sure the key and the tuning are, [0, 1]; 1 when the player named the harp. */
  readonly confidence: number;
  readonly alternatives: readonly HarpGuess[];
}

/** What the player said of the harp; what is missing is looked for. */
export interface HarpConstraints {
  readonly key?: string | undefined;
  readonly tuning?: string | undefined;
  readonly temperament: string;
  readonly a4Hz: number;
  readonly custom?: CustomHarp | undefined;
}

/** Nats against a tuning other than Richter and against low and high harps, as they are rarer (common practice, no source). */
const TUNING_COST: Readonly<Record<string, number>> = { richter: 0, 'raised-third': 3, 'natural-minor': 3 };
const OTHER_TUNING_COST = 4;
const REGISTER_COST = 2.5;
const UNUSUAL_REGISTER_COST = 5;
/** Low and high harps that are commonly sold (common practice, no source). */
const SOLD_REGISTERS = new Set(['low C', 'low D', 'low Eb', 'low E', 'low F', 'low F#', 'high G']);
/** How often tunes are played in 1st, 2nd and further positions (common practice, no source). */
const POSITIONS: readonly number[] = [0.5, 0.3, 0.07, 0.03, 0.03];
const RARE_POSITION = 0.01;
/** How far that is trusted: a keynote is guessed from a short tune. */
const POSITION_SHARE = 0.8;
/** Difference of fit that makes one keynote e times as likely as another. */
const KEYNOTE_SPREAD = 0.12;
/** Candidates that the quick score leaves for the full one. */
const SHORT_LIST = 24;
/** The full score reads this many events, from the middle of the take. */
const MOST_EVENTS = 150;
/** Notes of one take are not independent witnesses; set so that the confidence is calibrated on development takes. */
const EVIDENCE_SHARE = 0.35;

/**
 * Which harp explains the events best: every key, octave and tuning is tried, first by how near its playable notes
 * lie and how plain they are, then by the full decode of holes and breaths.
 * @returns guesses from the likeliest on, at most ten; empty when there are no events
 */
export function findHarp(events: readonly SoundEvent[], constraints: HarpConstraints): HarpGuess[] {
  if (events.length === 0) return [];
  const middle = middlePart(events, MOST_EVENTS);
  const ofKeynote = keynoteProbabilities(middle);
  const candidates = candidateSpecs(constraints).map((spec) => {
    const notes = playableNotes(spec, constraints.custom);
    return { spec, notes, prior: positionScore(ofKeynote, spec.key) - priorCost(spec), quick: 0 };
  });
  for (const candidate of candidates) candidate.quick = quickScore(middle, candidate.notes) + candidate.prior;
  candidates.sort((a, b) => b.quick - a.quick);
  const scored = candidates.slice(0, SHORT_LIST).map(({ spec, notes, prior }) => {
    return { spec, score: EVIDENCE_SHARE * harpScore(middle, notes) + prior };
  });
  scored.sort((a, b) => b.score - a.score);
  const best = scored[0].score;
  const weights = scored.map(({ score }) => Math.exp(score - best));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return scored
    .map(({ spec }, i) => ({ key: spec.key, tuning: spec.tuning, confidence: weights[i] / total }))
    .slice(0, 10);
}

function middlePart<T>(items: readonly T[], most: number): readonly T[] {
  const from = Math.max(0, Math.floor((items.length - most) / 2));
  return items.slice(from, from + most);
}

function candidateSpecs({ key, tuning, temperament, a4Hz, custom }: HarpConstraints): HarpSpec[] {
  const keys =
    key === undefined
      ? ([0, -1, 1] as const).flatMap((register) => HARP_KEYS.map((_, i) => harpKey(i, register).key))
      : [key];
  const tunings = custom?.layout
    ? [custom.layout.id]
    : tuning === undefined
      ? LAYOUTS.map(({ id }) => id)
      : [tuning];
  return keys.flatMap((each) => tunings.map((id) => ({ key: each, tuning: id, temperament, a4Hz })));
}

function priorCost({ key, tuning }: HarpSpec): number {
  return (TUNING_COST[tuning] ?? OTHER_TUNING_COST) + registerCost(key);
}

/** How likely each pitch class is the keynote of what was played, 0 = C … 11 = B; they sum to 1. */
function keynoteProbabilities(events: readonly SoundEvent[]): number[] {
  const fits = keynoteFits(
    events.map(({ midi, onsetSec, offsetSec }) => ({ midi: Math.round(midi), length: offsetSec - onsetSec })),
  );
  const weights = fits.map((fit) => Math.exp(fit / KEYNOTE_SPREAD));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return weights.map((weight) => weight / total);
}

/** Log probability of the position that the tune is in on a harp of this key. */
function positionScore(ofKeynote: readonly number[], key: string): number {
  const harp = parseHarpKey(key).tonicMidi;
  return (
    POSITION_SHARE *
    Math.log(
      ofKeynote.reduce((sum, probability, tonic) => {
        return sum + probability * (POSITIONS[positionOf(tonic, harp) - 1] ?? RARE_POSITION);
      }, 0),
    )
  );
}

function registerCost(key: string): number {
  if (!/^(low|high) /.test(key)) return 0;
  return SOLD_REGISTERS.has(key) ? REGISTER_COST : UNUSUAL_REGISTER_COST;
}

/** Nats by which the best note for each event falls short: distance in pitch, and bends and overbends. */
function quickScore(events: readonly SoundEvent[], notes: readonly PlayableNote[]): number {
  const targets = notes.map((note) => ({
    midi: hzToMidi(note.f0Hz),
    cost: note.over ? 3 : note.bend > 0 ? 1.5 : 0,
  }));
  let sum = 0;
  for (const { midi } of events) {
    let least = 12;
    for (const target of targets) least = Math.min(least, target.cost + 6 * Math.abs(midi - target.midi));
    sum += least;
  }
  return -EVIDENCE_SHARE * sum;
}
