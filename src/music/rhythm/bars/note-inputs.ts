import { median } from '../../../statistics.ts';
import { guessTonic } from '../../keynote.ts';
import { placeLevels } from '../accents.ts';
import { isCompound, TICKS_PER_BEAT } from '../metre.ts';
import type { BarredPath } from './bar-lines.ts';

/** A note as far as bars are concerned. */
export interface BarNote {
  /** Pitch as a MIDI number. */
  readonly midi: number;
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** How strongly the tune breaks off before it (`breakStrengths`). */
  readonly strength: number;
}

/** Numbers that `noteContexts` gives for each note. */
export const CONTEXT_INPUTS = 41;
/** Numbers that `placeInputs` gives for each note. */
export const PLACE_INPUTS = 96;

const MOTIONS = 7;
/** A gap so long is as long as any. */
const LONG_GAP_SEC = 0.3;
const OCTAVE = 12;

/**
 * What is heard around each note, whatever the bars: the ways into it and out of it, its degree, gaps, breaks and lengths two
 * notes to either side. All within about -2 to 2.
 * @param notes  in time order, at least two
 * @returns `CONTEXT_INPUTS` numbers a note
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

function oneOf(count: number, which: number | null): number[] {
  return Array.from({ length: count }, (_, i) => (i === which ? 1 : 0));
}

/** Repeated, then by step, third and leap, each up and down; none of them when there is no such note. */
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
/** Where the levels of notes that begin a repeat stand. */
const REPEAT_INPUTS = 40;
/** Notes whose levels are told: itself, and two to either side. */
const BESIDE = [0, -1, 1, -2, 2];
const METRES = ['2/4', '3/4', '4/4', '6/8'];
/** Where the sixteenths of a bar of each of these metres stand, and after them the pulses of any other metre. */
const SIXTEENTH_INPUTS = [44, 52, 64, 80];
const OTHER_PULSE_INPUTS = 92;
const SIXTEENTH = TICKS_PER_BEAT / 4;

/**
 * Where one way to bar a tune puts each note: levels of its place and of those two notes to either side, the place in the bar,
 * whether it is held over a bar line or a pulse, its length, which bar of four, the metre, the level of notes that begin a
 * repeat, and which sixteenth of the bar of its metre it is.
 * @param repeats  first notes of repeats (`repeatStarts`)
 * @returns `PLACE_INPUTS` numbers a note, note after note
 */
export function placeInputs({ plan, atTicks }: BarredPath, repeats: readonly number[]): Float64Array {
  const { barTicks, pulseTicks, metre, swung } = plan;
  const levels = placeLevels(plan);
  const levelAt = new Int8Array(barTicks).fill(LEVEL_COUNT - 1);
  for (const [p, tick] of plan.places.entries()) levelAt[tick] = levels[p];
  const inputs = new Float64Array(atTicks.length * PLACE_INPUTS);
  const name = METRES.indexOf(`${metre.count}/${metre.unit}`);
  const firstBar = atTicks[0] > 0 ? 1 : 0;
  const levelOf = (tick: number) => levelAt[tick % barTicks];
  let lengthBefore = 0;
  for (let n = 0; n < atTicks.length; n++) {
    const row = n * PLACE_INPUTS;
    for (let i = 0; i < BESIDE.length; i++) {
      const other = n + BESIDE[i];
      if (other < 0 || other >= atTicks.length) continue;
      inputs[row + LEVEL_COUNT * i + levelOf(atTicks[other])] = 1;
    }
    const inBar = atTicks[n] % barTicks;
    const inPulse = inBar % pulseTicks;
    const step = n + 1 < atTicks.length ? atTicks[n + 1] - atTicks[n] : 0;
    const length = step > 0 ? Math.log2(step / pulseTicks) / 2 : 0;
    const turn = (2 * Math.PI * inBar) / barTicks;
    const bar = Math.floor(atTicks[n] / barTicks) - firstBar;
    const ofFour = ((bar % 4) + 4) % 4;
    let at = row + 5 * LEVEL_COUNT;
    inputs[at++] = Math.sin(turn);
    inputs[at++] = Math.cos(turn);
    inputs[at++] = Math.sin(2 * turn);
    inputs[at++] = Math.cos(2 * turn);
    inputs[at++] = inBar > 0 && inBar + step > barTicks ? 1 : 0;
    inputs[at++] = inPulse > 0 && inPulse + step > pulseTicks ? 1 : 0;
    inputs[at++] = length;
    inputs[at++] = lengthBefore;
    const fours = [ofFour % 2, ofFour >> 1, ofFour === 3 ? 1 : 0];
    for (const four of fours) inputs[at++] = inBar === 0 ? four : 0;
    for (const four of fours) inputs[at++] = four;
    inputs[at + (name < 0 ? METRES.length : name)] = 1;
    inputs[at + METRES.length + 1] = swung && !isCompound(metre) ? 1 : 0;
    const sixteenth = Math.floor(inBar / SIXTEENTH);
    inputs[
      row + (name < 0 ? OTHER_PULSE_INPUTS + Math.min(3, sixteenth >> 2) : SIXTEENTH_INPUTS[name] + sixteenth)
    ] = 1;
    lengthBefore = length;
  }
  for (const n of repeats) inputs[n * PLACE_INPUTS + REPEAT_INPUTS + levelOf(atTicks[n])] = 1;
  return inputs;
}
