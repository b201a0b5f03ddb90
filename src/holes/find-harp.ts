import type { SoundEvent } from '../analysis/notes/events.ts';
import { HARP_KEYS, harpKey, parseHarpKey } from '../harp/keys.ts';
import { LAYOUTS } from '../harp/layouts.ts';
import { playableNotes } from '../harp/playable.ts';
import { positionOf } from '../harp/positions.ts';
import type { CustomHarp, HarpGuess, HarpSpec, PlayableNote } from '../harp/types.ts';
import { keynoteFits } from '../music/keynote.ts';
import { A4_MIDI, hzToMidi, ISO_A4_HZ, midiToHz } from '../units.ts';
import { fitterOf, noteFit, type PlayingStyle, UNEXPLAINED } from './harp-fit.ts';
import { HOLE_COSTS, type HoleCosts, harpScore } from './holes.ts';
import { type NaturalFit, naturalFits } from './steadiness.ts';

/** A harp that may have been played, with the A4 that it would have. */
export interface FittedGuess extends HarpGuess {
  readonly a4Hz: number;
}

/** What the player said about the harp; what is missing is detected. */
export interface HarpConstraints {
  readonly key?: string | undefined;
  readonly tuning?: string | undefined;
  readonly temperament: string;
  readonly a4Hz?: number | undefined;
  readonly custom?: CustomHarp | undefined;
}

/** How many of a hundred harps that are played have each key (common practice, no source). */
const KEY_SHARES: Readonly<Record<string, number>> = { C: 28, A: 16, G: 12, D: 12, Bb: 7, F: 7, E: 5 };
/** The same for any other key in the usual octave. */
const OTHER_KEY_SHARE = 2.6;
/** Cost in nats of tunings other than Richter, which are rarer (common practice, no source). */
const TUNING_COST: Readonly<Record<string, number>> = {
  richter: 0,
  'raised-third': 5,
  'natural-minor': 5,
};
/**
 * The same for tunings not listed above, for low and high harps on sale, and for those not on sale (common practice, no
 * source).
 */
const OTHER_TUNING_COST = 7;
const REGISTER_COST = 4;
const UNUSUAL_REGISTER_COST = 10;
/** Low and high harps that are commonly sold (common practice, no source). */
const SOLD_REGISTERS = new Set(['low C', 'low D', 'low Eb', 'low E', 'low F', 'low F#', 'high G']);
/** How often tunes are played in 1st, 2nd and further positions (common practice, no source). */
const POSITIONS: readonly number[] = [0.5, 0.3, 0.07, 0.03, 0.03];
/** The same for every further position. */
const RARE_POSITION = 0.01;
/** Weight of the position: the keynote of a short tune is a guess. */
const POSITION_SHARE = 0.5;
/** Difference in fit that makes one keynote e times as likely as another. */
const KEYNOTE_SPREAD = 0.25;
/** Cost in nats of each hole, hole 1 first: most tunes lie in the middle (common practice, no source). */
const HOLE_COST: readonly number[] = [0, 0, 0, 0, 0, 0, 0.12, 0.2, 0.32, 0.36];
/** Costs of moves while the harp is unknown. */
const OPEN_COSTS: HoleCosts = {
  ...HOLE_COSTS,
  distance: 0.3,
  breathWithoutGap: 3.2,
  gapWithoutBreath: 1.8,
  gapBeforeRepeat: 0,
};
/** Candidates that the quick score passes on to the full one. */
const SHORT_LIST = 32;
/** The full score reads this many events, from the middle of the take. */
const MOST_EVENTS = 150;
/** Weight of an event against the rarity of harps: the notes of one take are not independent. */
const EVIDENCE_SHARE = 0.6;
/**
 * Weight of a nat by which a harp explains chords, whose frames are not independent. From 0.03 to 0.08 the harps that are
 * found are the same: of 30 labelled recordings of players 21 (17 without it), of 371 rendered takes 357 (355).
 */
const CHORD_SHARE = 0.075;
/** Reeds nearer than this, in semitones, have the same note. */
const SAME_NOTE = 0.3;
/** The most harps that are returned, and judged by chords. */
const MOST_GUESSES = 10;

/**
 * Finds the harp that explains the events best. Every key, octave and tuning is tried: first by how its notes fit the
 * pitches for each A4 and style of playing, then, for the best, by a full decode of holes and breaths, and at last by the chords
 * that it can sound.
 * @param chordNats  how much better a harp explains the chords of the take than single reeds do, in nats
 * @returns guesses, the likeliest first, at most ten; empty when there are no events
 */
export function findHarp(
  events: readonly SoundEvent[],
  constraints: HarpConstraints,
  chordNats: (harp: HarpSpec) => number = () => 0,
): FittedGuess[] {
  if (events.length === 0) return [];
  const middle = middlePart(events, MOST_EVENTS);
  const natural = naturalFits(middle);
  const fitPitches = fitterOf(middle, natural, EVIDENCE_SHARE, centsOf(constraints.a4Hz));
  const ofKeynote = keynoteProbabilities(middle);
  const candidates = candidateSpecs(constraints).map((spec) => {
    const notes = playableNotes(spec, constraints.custom);
    const prior = positionScore(ofKeynote, spec.key) - priorCost(spec);
    const quick = fitPitches(notes);
    return { ...quick, spec, notes, prior: prior + quick.prior, quick: prior + quick.score };
  });
  candidates.sort((a, b) => b.quick - a.quick);
  const scored = candidates.slice(0, SHORT_LIST).map(({ spec, notes, a4Cents, style, prior }) => {
    const score = prior + EVIDENCE_SHARE * fullScore(middle, notes, a4Cents, style, natural);
    return { spec, a4Hz: constraints.a4Hz ?? midiToHz(A4_MIDI + a4Cents / 100, ISO_A4_HZ), score };
  });
  const guesses = bestFirst(
    bestFirst(scored)
      .slice(0, MOST_GUESSES)
      .map((guess) => ({ ...guess, score: guess.score + CHORD_SHARE * chordNats(guess.spec) })),
  );
  const best = guesses[0].score;
  const weights = guesses.map(({ score }) => Math.exp(score - best));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return guesses.map(({ spec: { key, tuning }, a4Hz }, i) => ({
    key,
    tuning,
    a4Hz,
    confidence: weights[i] / total,
  }));
}

function bestFirst<T extends { readonly score: number }>(guesses: readonly T[]): T[] {
  return [...guesses].sort((a, b) => b.score - a.score);
}

function centsOf(a4Hz: number | undefined): number | undefined {
  return a4Hz === undefined ? undefined : 100 * (hzToMidi(a4Hz) - A4_MIDI);
}

/** Log score of all ways to play the events on a harp whose notes are given for A4 = 440 Hz. */
function fullScore(
  events: readonly SoundEvent[],
  notes: readonly PlayableNote[],
  a4Cents: number,
  style: PlayingStyle,
  natural: NaturalFit,
): number {
  const scoreNote = noteFit(style, natural);
  const holeCosts = new Map(
    notes.map((note) => [note, HOLE_COST[note.hole - 1] + Math.log(holesOf(note, notes))]),
  );
  return harpScore(events, notes, {
    costs: OPEN_COSTS,
    noteScore: (t, note, cents) => scoreNote(t, note, cents - a4Cents) - (holeCosts.get(note) ?? 0),
    unexplained: UNEXPLAINED,
  });
}

/**
 * How many holes have this note unbent with the same breath, at least one: a note that lies on two holes makes a harp
 * no likelier. Where the breaths differ, as in 2 draw and 3 blow, changes of breath tell which was played.
 */
function holesOf(note: PlayableNote, notes: readonly PlayableNote[]): number {
  const isSame = ({ f0Hz, breath, bend, over }: PlayableNote): boolean =>
    breath === note.breath &&
    bend === 0 &&
    !over &&
    Math.abs(hzToMidi(f0Hz) - hzToMidi(note.f0Hz)) < SAME_NOTE;
  return Math.max(1, notes.filter(isSame).length);
}

function middlePart<T>(items: readonly T[], most: number): readonly T[] {
  const from = Math.max(0, Math.floor((items.length - most) / 2));
  return items.slice(from, from + most);
}

/** Every harp that fits the constraints, at A4 = 440 Hz. */
function candidateSpecs({ key, tuning, temperament, custom }: HarpConstraints): HarpSpec[] {
  const keys =
    key === undefined
      ? ([0, -1, 1] as const).flatMap((register) => HARP_KEYS.map((_, i) => harpKey(i, register).key))
      : [key];
  const tunings = custom?.layout
    ? [custom.layout.id]
    : tuning === undefined
      ? LAYOUTS.map(({ id }) => id)
      : [tuning];
  return keys.flatMap((each) =>
    tunings.map((id) => ({ key: each, tuning: id, temperament, a4Hz: ISO_A4_HZ })),
  );
}

function priorCost({ key, tuning }: HarpSpec): number {
  return (TUNING_COST[tuning] ?? OTHER_TUNING_COST) + (isUsualOctave(key) ? keyCost(key) : registerCost(key));
}

function keyCost(key: string): number {
  return Math.log(KEY_SHARES.C / (KEY_SHARES[key] ?? OTHER_KEY_SHARE));
}

const isUsualOctave = (key: string): boolean => !/^(low|high) /.test(key);

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
  return SOLD_REGISTERS.has(key) ? REGISTER_COST : UNUSUAL_REGISTER_COST;
}
