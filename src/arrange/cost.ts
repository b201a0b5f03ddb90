import { chordAt } from '../harp/chords.ts';
import type { PlayableNote } from '../harp/types.ts';
import { BREATH_STEP_SEC, type TuneNote } from './tune.ts';
import type { Weights } from './weights.ts';

/** A playable note, whether its hole bends deeper still, and all notes of its harp that the player can play. */
export interface Choice {
  readonly note: PlayableNote;
  readonly inBetween: boolean;
  readonly harp: readonly PlayableNote[];
}

/** Points for one note by cause; they add up to its cost. */
export interface CostParts {
  /** The bend itself. */
  readonly bend: number;
  /** For holding, attacking or leaping into a bend or overbend. */
  readonly exposure: number;
  readonly overbend: number;
  /** Leaps, moves, changes of breath. */
  readonly movement: number;
  readonly breath: number;
  readonly range: number;
  /** Notes of a chord that don't sound with the melody note. */
  readonly chord: number;
  readonly missing: number;
}

/** Points, in one object that is reused. */
export type Scratch = { -readonly [Part in keyof CostParts]: CostParts[Part] };

const NOTHING: CostParts = {
  bend: 0,
  exposure: 0,
  overbend: 0,
  movement: 0,
  breath: 0,
  range: 0,
  chord: 0,
  missing: 0,
};
export const noCost = (): Scratch => ({ ...NOTHING });

/** How full the lungs are, in breath steps: 0 at ease, positive after drawing, negative after blowing. */
export type LungLevel = number;

/** Up to here breath does not matter: about half a comfortable breath, here 3 s in one direction (chosen by hand). */
const COMFORT_STEPS = Math.round(3 / BREATH_STEP_SEC);
/** Lungs hold no more than this: 8 s (chosen by hand). */
const FULL_STEPS = Math.round(8 / BREATH_STEP_SEC);
/** A rest this long is enough to breathe (chosen by hand). */
const BREATHING_REST_SEC = 0.3;
/** A bend shorter than this is played in passing. */
const HELD_AFTER_SEC = 0.5;
/** Bends longer than this get no harder. */
const HELD_AT_MOST_SEC = 3;

/** Lungs after a note; a missing note is a rest. */
export function lungsAfter(level: LungLevel, tuneNote: TuneNote, choice: Choice | null): LungLevel {
  const before = tuneNote.restSec >= BREATHING_REST_SEC ? 0 : level;
  if (choice === null) return tuneNote.durationSec >= BREATHING_REST_SEC ? 0 : before;
  // Blowing when full or drawing when empty is a relief; both fill or empty the lungs at the same rate.
  const after = before + (choice.note.breath === 'draw' ? tuneNote.breathSteps : -tuneNote.breathSteps);
  return Math.max(-FULL_STEPS, Math.min(FULL_STEPS, after));
}

/** Points for the technique itself, and for how awkward it is in its hole. */
function techniqueCost({ note, inBetween }: Choice, weights: Weights): number {
  if (note.over) return weights.overbend;
  if (note.bend === 0) return 0;
  const depth = note.bend as 1 | 2 | 3;
  const plain = note.breath === 'draw' ? weights[`drawBend${depth}`] : weights[`blowBend${depth}`];
  return plain * (inBetween ? 1 + weights.inBetween : 1);
}

/**
 * Points for playing `choice` after `previous`.
 * @param previous  null at the start of the tune and after a missing note
 * @param after  lungs after this note
 * @param into where to write them: allocating an object for each of millions of steps would cost more than the sums
 */
export function noteCost(
  tuneNote: TuneNote,
  choice: Choice | null,
  previous: Choice | null,
  after: LungLevel,
  weights: Weights,
  into: Scratch,
): CostParts {
  if (choice === null) return Object.assign(into, NOTHING, { missing: weights.missing });
  const { note } = choice;
  const from = previous?.note;
  const holes = from ? Math.abs(note.hole - from.hole) : 0;
  const technique = techniqueCost(choice, weights);
  let share = 0;
  if (technique > 0) {
    const heldSec = Math.min(HELD_AT_MOST_SEC, Math.max(0, tuneNote.durationSec - HELD_AFTER_SEC));
    share += heldSec * weights.heldSec;
    const glides = from !== undefined && holes === 0 && from.breath === note.breath && tuneNote.restSec === 0;
    if (!glides) share += weights.attacked;
    if (holes >= 2) share += weights.afterLeap;
  }
  let movement = 0;
  if (from) {
    if (holes > 0) movement += weights.moveHole + Math.max(0, holes - 1) * weights.leapHole;
    if (from.breath !== note.breath) movement += weights.turnBreath;
  }
  const strained = Math.min(tuneNote.breathSteps, Math.max(0, Math.abs(after) - COMFORT_STEPS));
  const outwards = after > 0 === (note.breath === 'draw');
  into.bend = note.over ? 0 : technique;
  into.exposure = technique * share;
  into.overbend = note.over ? technique : 0;
  into.movement = movement;
  into.breath = outwards ? strained * BREATH_STEP_SEC * weights.breathSec : 0;
  into.range = note.hole >= 8 ? weights.highHole : 0;
  into.chord =
    tuneNote.chord === undefined
      ? 0
      : lostNotes(tuneNote.midi, tuneNote.chord, choice) * weights.lostChordNote;
  into.missing = 0;
  return into;
}

/** Sum of the points of a note. */
export function sumOf(parts: CostParts): number {
  return (
    parts.bend +
    parts.exposure +
    parts.overbend +
    parts.movement +
    parts.breath +
    parts.range +
    parts.chord +
    parts.missing
  );
}

/** Kept, since every path to a note asks for the same. */
const LOST = new WeakMap<Choice, WeakMap<readonly number[], number>>();

/** How many notes of a chord are lost when its highest, `midi`, is played this way. */
function lostNotes(midi: number, chord: readonly number[], choice: Choice): number {
  let known = LOST.get(choice);
  if (known === undefined) {
    known = new WeakMap();
    LOST.set(choice, known);
  }
  let lost = known.get(chord);
  if (lost === undefined) {
    const { note, harp } = choice;
    const here = chord.map((each) => each + note.midi - midi);
    lost = chordAt(here, note, harp)?.lost.length ?? chord.length - 1;
    known.set(chord, lost);
  }
  return lost;
}
