import { breakStrengths } from '../breaks.ts';
import { guessTonic } from '../keynote.ts';
import { type BarPlan, TICKS_PER_BEAT } from './metre.ts';

/** Metrical levels of a place in the bar: the bar line, the middle of a bar of four, another pulse, or between pulses. */
export const LEVELS = 4;
const BAR = 0;
const HALF = 1;
const PULSE = 2;
const OFF = 3;

/** Level of each place of a bar plan. */
export function placeLevels(plan: BarPlan): Uint8Array {
  return Uint8Array.from(plan.places, (tick) => {
    if (tick === 0) return BAR;
    if (tick % plan.pulseTicks !== 0) return OFF;
    return plan.barTicks === 4 * TICKS_PER_BEAT && tick === plan.barTicks / 2 ? HALF : PULSE;
  });
}

/** For each level, the natural log of how much more often a feature is found there than anywhere. */
type ByLevel = readonly [bar: number, half: number, pulse: number, off: number];

/*
 * Fitted by multinomial logistic regression to 290,000 notes of the tunes in which the onset profiles were counted.
 * Melodies approach strong places differently from weak ones: Temperley, Music and Probability (2007), ch. 6.
 * High and low turning points are heard as accents: Huron & Royal, Music Perception 13(4), 489-516 (1996).
 */
/** Semitones above the keynote. */
const DEGREES: readonly ByLevel[] = [
  [0.07, -0.18, -0.09, 0.02],
  [-0.15, -0.09, 0.08, 0.05],
  [-0.14, 0.08, 0.08, 0],
  [0.18, 0.13, 0.06, -0.19],
  [0.07, 0.06, -0.03, -0.07],
  [-0.16, -0.05, 0.03, 0.14],
  [-0.49, -0.02, 0.16, 0.24],
  [0.12, 0.13, 0.02, -0.06],
  [0.06, -0.19, 0.08, -0.06],
  [-0.04, 0, -0.01, 0.03],
  [-0.06, 0.03, 0, -0.06],
  [-0.22, -0.04, 0.06, 0.2],
];
/** The interval that leads to the note, and the one that leads on from it. */
const INTO: Readonly<Record<Motion, ByLevel>> = {
  repeated: [-0.31, 0.06, 0.45, -0.23],
  stepUp: [0.5, 0.25, -0.33, -0.33],
  stepDown: [-0.09, 0.18, 0.02, 0.12],
  thirdUp: [0.03, -0.41, -0.11, 0.22],
  thirdDown: [-0.71, -0.16, 0.01, 0.68],
  leapUp: [0.67, -0.21, -0.31, -0.52],
  leapDown: [-0.31, -0.27, 0.26, 0.42],
};
const OUT_OF: Readonly<Record<Motion, ByLevel>> = {
  repeated: [0.17, 0.11, -0.27, -0.13],
  stepUp: [-0.53, -0.29, 0.19, 0.46],
  stepDown: [0.14, 0, -0.09, -0.09],
  thirdUp: [0.01, 0.17, 0.21, -0.12],
  thirdDown: [0.36, 0.21, 0.14, -0.32],
  leapUp: [-0.24, -0.2, 0.02, 0.31],
  leapDown: [0.25, 0.26, -0.17, -0.3],
};
const TURNS: Readonly<Record<'peak' | 'trough' | 'none', ByLevel>> = {
  none: [-0.03, -0.12, -0.06, 0.07],
  peak: [-0.44, 0.3, 0.37, 0.17],
  trough: [0.58, 0.14, -0.17, -0.45],
};
const PHRASE_END: ByLevel = [0.27, 1.46, 0.69, -1.05];
const LAST: ByLevel = [1.22, 1.17, 0.4, -1.45];
const GOES_ON: ByLevel = [-0.04, -0.13, -0.06, 0.1];
/** Share of the notes of those tunes at each level. */
const LEVEL_SHARES: ByLevel = [0.22, 0.09, 0.27, 0.42];

/** A break this strong certainly ends a phrase (set by hand [no source]). */
export const SURE_BREAK = 0.6;

type Motion = 'repeated' | 'stepUp' | 'stepDown' | 'thirdUp' | 'thirdDown' | 'leapUp' | 'leapDown';

export interface AccentedNote {
  /** Pitch as a MIDI number; if omitted, only the ends of phrases count. */
  readonly midi?: number | undefined;
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** Seconds of rest before the note when the player may have breathed there, else 0. */
  readonly restSec: number;
}

/**
 * How well each note suits each level of the bar, judged by its pitch and its place in the phrase.
 * @returns natural logs, `LEVELS` numbers per note
 */
export function levelAccents(
  notes: readonly AccentedNote[],
  strengths = breakStrengths(notes),
): Float64Array {
  const accents = new Float64Array(notes.length * LEVELS);
  const pitches = notes.flatMap(({ midi }) => (midi === undefined ? [] : [Math.round(midi)]));
  const heard = pitches.length === notes.length && notes.length > 0;
  const tonic = heard
    ? guessTonic(
        notes.map((note, i) => ({ midi: pitches[i], durationBeats: note.offsetSec - note.onsetSec })),
      )
    : 0;
  for (let i = 0; i < notes.length; i++) {
    const tables = [ofPhrase(notes, strengths, i), ...(heard ? ofPitch(pitches, i, tonic) : [])];
    let all = 0;
    for (let level = 0; level < LEVELS; level++) {
      let sum = 0;
      for (const table of tables) sum += table[level];
      accents[i * LEVELS + level] = sum;
      all += LEVEL_SHARES[level] * Math.exp(sum);
    }
    for (let level = 0; level < LEVELS; level++) accents[i * LEVELS + level] -= Math.log(all);
  }
  return accents;
}

function ofPhrase(notes: readonly AccentedNote[], strengths: Float64Array, i: number): ByLevel {
  if (i === notes.length - 1) return LAST;
  if (notes[i + 1].restSec === 0) return GOES_ON;
  const ends = Math.min(1, strengths[i + 1] / SURE_BREAK);
  const mixed = GOES_ON.map((goesOn, level) => (1 - ends) * goesOn + ends * PHRASE_END[level]);
  return mixed as unknown as ByLevel;
}

function ofPitch(pitches: readonly number[], i: number, tonic: number): ByLevel[] {
  const tables = [DEGREES[(((pitches[i] - tonic) % 12) + 12) % 12]];
  const into = i > 0 ? pitches[i] - pitches[i - 1] : null;
  const outOf = i + 1 < pitches.length ? pitches[i + 1] - pitches[i] : null;
  if (into !== null) tables.push(INTO[motionOf(into)]);
  if (outOf !== null) tables.push(OUT_OF[motionOf(outOf)]);
  if (into !== null && outOf !== null) {
    tables.push(TURNS[into > 0 && outOf < 0 ? 'peak' : into < 0 && outOf > 0 ? 'trough' : 'none']);
  }
  return tables;
}

function motionOf(semitones: number): Motion {
  if (semitones === 0) return 'repeated';
  const size = Math.abs(semitones) <= 2 ? 'step' : Math.abs(semitones) <= 4 ? 'third' : 'leap';
  return semitones > 0 ? `${size}Up` : `${size}Down`;
}
