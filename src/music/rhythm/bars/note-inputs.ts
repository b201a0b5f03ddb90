import { median } from '../../../statistics.ts';
import { guessTonic } from '../../keynote.ts';
import { placeLevels } from '../accents.ts';
import { type BarPlan, isCompound, TICKS_PER_BEAT } from '../metre.ts';
import { LONGEST_TICKS } from '../time-scores.ts';
import type { BarredPath } from './bar-lines.ts';

/** What the bar network needs of a note. */
export interface BarNote {
  /** Pitch as a MIDI number. */
  readonly midi: number;
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** Strength of the break before it (`breakStrengths`). */
  readonly strength: number;
}

/** Length of what `PlacedNotes` gives for each note. */
export const PLACE_INPUTS = 96;

const MOTIONS = 7;
/** Gaps longer than this count as this. */
const LONG_GAP_SEC = 0.3;
const OCTAVE = 12;

/**
 * The surroundings of each note, independent of bars: the motion to it and from it, its degree of the scale, and gaps,
 * breaks and lengths up to two notes either side. All roughly within -2 to 2.
 * @param notes  in time order, at least two
 * @returns 41 numbers per note
 */
export function noteContexts(notes: readonly BarNote[]): Float64Array[] {
  const pitches = notes.map(({ midi }) => Math.round(midi));
  const steps = notes.map((note, i) => (notes[i + 1]?.onsetSec ?? note.offsetSec) - note.onsetSec);
  const usualSec = median(steps.slice(0, -1));
  const lengths = steps.map(
    (sec) => Math.max(-3, Math.min(3, Math.log2(Math.max(sec, 1e-3) / usualSec))) / 2,
  );
  const gaps = notes.map((note, i) =>
    i === 0 ? 0 : Math.max(0, Math.min(1, (note.onsetSec - notes[i - 1].offsetSec) / LONG_GAP_SEC)),
  );
  const strengths = notes.map(({ strength }) => strength);
  const tonic = guessTonic(
    notes.map(({ onsetSec, offsetSec }, i) => ({ midi: pitches[i], durationBeats: offsetSec - onsetSec })),
  );
  const middle = pitches.reduce((sum, midi) => sum + midi, 0) / pitches.length;
  const at = (row: readonly number[], i: number) => row[i] ?? 0;
  const last = notes.length - 1;
  return pitches.map((midi, i) =>
    Float64Array.from([
      ...motion(i > 0 ? midi - pitches[i - 1] : null),
      ...motion(i < last ? pitches[i + 1] - midi : null),
      ...oneOf(OCTAVE, (((midi - tonic) % OCTAVE) + OCTAVE) % OCTAVE),
      i > 1 ? interval(midi - pitches[i - 2]) : 0,
      i + 2 <= last ? interval(pitches[i + 2] - midi) : 0,
      i === 0 ? 1 : 0,
      i === last ? 1 : 0,
      gaps[i],
      at(gaps, i + 1),
      strengths[i],
      at(strengths, i + 1),
      at(strengths, i - 1),
      lengths[i],
      at(lengths, i - 1),
      at(lengths, i + 1),
      at(lengths, i - 2),
      at(lengths, i + 2),
      (midi - middle) / 6,
    ]),
  );
}

/** A figure counts at most this often: tunes in two parts play each twice, which is how the network was first fitted. */
const MOST_FIGURES = 2;

/**
 * How much each note counts, by how often it comes between the same two notes: the notes of a figure that comes four times
 * count half each. What the network makes of a bar that is repeated and repeated, as in a round, is one opinion, not many.
 * @param pitches  MIDI numbers
 * @returns numbers in (0, 1], one per note
 */
export function figureWeights(pitches: readonly number[]): Float64Array {
  const figures = pitches.map((midi, i) => `${pitches[i - 1]} ${midi} ${pitches[i + 1]}`);
  const counts = new Map<string, number>();
  for (const figure of figures) counts.set(figure, (counts.get(figure) ?? 0) + 1);
  return Float64Array.from(figures, (figure) => Math.min(1, MOST_FIGURES / (counts.get(figure) ?? 1)));
}

function oneOf(count: number, which: number | null): number[] {
  return Array.from({ length: count }, (_, i) => (i === which ? 1 : 0));
}

/** One-hot: repeated, then step, third or leap, each up and down; all zero if there is no such note. */
function motion(semitones: number | null): number[] {
  if (semitones === null) return oneOf(MOTIONS, null);
  if (semitones === 0) return oneOf(MOTIONS, 0);
  const size = Math.abs(semitones) <= 2 ? 0 : Math.abs(semitones) <= 4 ? 1 : 2;
  return oneOf(MOTIONS, 1 + 2 * size + (semitones < 0 ? 1 : 0));
}

function interval(semitones: number): number {
  return Math.max(-OCTAVE, Math.min(OCTAVE, semitones)) / 6;
}

const LEVEL_COUNT = 4;
/** Indices of the place in the bar, whether the note is held, and its length; which bar of four it is in, first if it begins one. */
const PLACE_INPUT = 20;
const HELD_INPUT = 24;
const LENGTH_INPUT = 26;
const FIRST_BAR_INPUT = 28;
const BAR_INPUT = 31;
/** Index of the metre, and of whether it swings. */
const METRE_INPUT = 34;
const SWUNG_INPUT = 39;
/** Index of the levels of notes that begin a repeat. */
const REPEAT_INPUTS = 40;
/** The note itself and the neighbours whose levels are given as well. */
const LEVELS_OF = [0, -1, 1, -2, 2];
const METRES = ['2/4', '3/4', '4/4', '6/8'];
/** Index of the sixteenths of a bar in each of these metres, and then of the pulses of any other metre. */
const SIXTEENTH_INPUTS = [44, 52, 64, 80];
const OTHER_PULSE_INPUTS = 92;
const SIXTEENTH = TICKS_PER_BEAT / 4;

/** Which of four bars, from 0: odd, in the second half, the last. */
function markBar(inputs: Float64Array, at: number, ofFour: number): void {
  inputs[at] = ofFour % 2;
  inputs[at + 1] = ofFour >> 1;
  if (ofFour === 3) inputs[at + 2] = 1;
}

/** Where one way to bar a tune puts each of its notes. */
export class PlacedNotes {
  readonly #plan: BarPlan;
  readonly #atTicks: readonly number[];
  readonly #firstBar: number;
  /** Index in `METRES`; -1 for any other. */
  readonly #metre: number;
  /** Level of each tick of the bar. */
  readonly #levelAt: Int8Array;
  readonly #beginsRepeat: Uint8Array;

  /** @param repeats  first notes of repeats (`repeatStarts`) */
  constructor({ plan, atTicks }: BarredPath, repeats: readonly number[]) {
    this.#plan = plan;
    this.#atTicks = atTicks;
    this.#firstBar = atTicks[0] > 0 ? 1 : 0;
    this.#metre = METRES.indexOf(`${plan.metre.count}/${plan.metre.unit}`);
    this.#levelAt = new Int8Array(plan.barTicks).fill(LEVEL_COUNT - 1);
    placeLevels(plan).forEach((level, p) => {
      this.#levelAt[plan.places[p]] = level;
    });
    this.#beginsRepeat = new Uint8Array(atTicks.length);
    for (const n of repeats) this.#beginsRepeat[n] = 1;
  }

  /** A key: notes of the same plan with the same key have the same `inputs`. */
  kind(n: number): number {
    let kind = this.#inBar(n);
    for (let i = 1; i < LEVELS_OF.length; i++)
      kind = kind * (LEVEL_COUNT + 1) + this.#level(n + LEVELS_OF[i]);
    kind = (kind * (LONGEST_TICKS + 1) + this.#step(n)) * (LONGEST_TICKS + 1) + this.#step(n - 1);
    return (kind * 4 + this.#barOfFour(n)) * 2 + this.#beginsRepeat[n];
  }

  /**
   * The levels of its place and of two notes either side, its place in the bar, whether it is held across a bar line or a
   * pulse, its length, which bar of four it is in, the metre, the level of a note that begins a repeat, and which sixteenth
   * of a bar of that metre it is on.
   * @returns `PLACE_INPUTS` numbers
   */
  inputs(n: number): Float64Array {
    const { barTicks, pulseTicks, metre, swung } = this.#plan;
    const inputs = new Float64Array(PLACE_INPUTS);
    const inBar = this.#inBar(n);
    const inPulse = inBar % pulseTicks;
    const step = this.#step(n);
    const turn = (2 * Math.PI * inBar) / barTicks;
    const ofFour = this.#barOfFour(n);
    const name = this.#metre;
    const sixteenth = Math.floor(inBar / SIXTEENTH);
    for (let i = 0; i < LEVELS_OF.length; i++) {
      const level = this.#level(n + LEVELS_OF[i]);
      if (level < LEVEL_COUNT) inputs[LEVEL_COUNT * i + level] = 1;
    }
    inputs[PLACE_INPUT] = Math.sin(turn);
    inputs[PLACE_INPUT + 1] = Math.cos(turn);
    inputs[PLACE_INPUT + 2] = Math.sin(2 * turn);
    inputs[PLACE_INPUT + 3] = Math.cos(2 * turn);
    if (inBar > 0 && inBar + step > barTicks) inputs[HELD_INPUT] = 1;
    if (inPulse > 0 && inPulse + step > pulseTicks) inputs[HELD_INPUT + 1] = 1;
    inputs[LENGTH_INPUT] = this.#length(n);
    inputs[LENGTH_INPUT + 1] = this.#length(n - 1);
    if (inBar === 0) markBar(inputs, FIRST_BAR_INPUT, ofFour);
    markBar(inputs, BAR_INPUT, ofFour);
    inputs[METRE_INPUT + (name < 0 ? METRES.length : name)] = 1;
    if (swung && !isCompound(metre)) inputs[SWUNG_INPUT] = 1;
    if (this.#beginsRepeat[n] === 1) inputs[REPEAT_INPUTS + this.#level(n)] = 1;
    const at =
      name < 0 ? OTHER_PULSE_INPUTS + Math.min(3, sixteenth >> 2) : SIXTEENTH_INPUTS[name] + sixteenth;
    inputs[at] = 1;
    return inputs;
  }

  #inBar(n: number): number {
    return this.#atTicks[n] % this.#plan.barTicks;
  }

  /** `LEVEL_COUNT` if there is no such note. */
  #level(n: number): number {
    return n < 0 || n >= this.#atTicks.length ? LEVEL_COUNT : this.#levelAt[this.#inBar(n)];
  }

  /** Ticks to the next note; 0 if there is none. */
  #step(n: number): number {
    return n < 0 || n + 1 >= this.#atTicks.length ? 0 : this.#atTicks[n + 1] - this.#atTicks[n];
  }

  /** Half the base-2 log of the note's length in pulses. */
  #length(n: number): number {
    const step = this.#step(n);
    return step > 0 ? Math.log2(step / this.#plan.pulseTicks) / 2 : 0;
  }

  #barOfFour(n: number): number {
    const bar = Math.floor(this.#atTicks[n] / this.#plan.barTicks) - this.#firstBar;
    return (bar + 4) % 4;
  }
}
