import { parseWeights, weightsOf } from '../weight-table.ts';

/**
 * What makes an arrangement hard, in points: 1 is an easy draw bend, played in passing. The order of difficulty is
 * common practice among players (no source); the numbers were chosen to give that order.
 */
const WEIGHT_TABLE = {
  drawBend1: { value: 1, reason: 'half-tone draw bend: the first that players learn' },
  drawBend2: { value: 1.8, reason: 'whole-tone draw bend' },
  drawBend3: { value: 2.6, reason: 'draw bend of a tone and a half, the deepest' },
  blowBend1: { value: 2.2, reason: 'half-tone blow bend: small reeds, small movements' },
  blowBend2: { value: 2.8, reason: 'whole-tone blow bend' },
  blowBend3: { value: 3.4, reason: 'blow bend of a tone and a half' },
  overbend: { value: 6, reason: 'overblow or overdraw: needs a set-up harp and long practice' },
  inBetween: {
    value: 0.5,
    reason: 'extra share for a bend that is not the deepest of its hole: it has no natural stop',
  },
  heldSec: { value: 0.5, reason: 'extra share for each second beyond the first half that a bend is held' },
  attacked: {
    value: 0.4,
    reason: 'extra share for a bend that is attacked rather than reached by a glide on its own hole',
  },
  afterLeap: { value: 0.3, reason: 'extra share for a bend after a leap of two holes or more' },
  leapHole: { value: 0.25, reason: 'each hole that a leap passes over' },
  moveHole: { value: 0.03, reason: 'any move to another hole' },
  turnBreath: { value: 0.05, reason: 'any change between blow and draw' },
  highHole: { value: 0.15, reason: 'a note on holes 8 to 10, which respond less easily' },
  breathSec: { value: 0.3, reason: 'each second of a note played with lungs nearly full or nearly empty' },
  otherTuning: { value: 2, reason: 'a tuning other than Richter or the one played: another harp to buy' },
  changedNote: { value: 0.12, reason: 'each note that is played differently from now' },
  anotherHarp: { value: 4, reason: 'a harp in another key than the one played: another harp to buy' },
  anotherTuning: {
    value: 1,
    reason: 'another tuning than now: the notes lie elsewhere and must be learnt again',
  },
  anotherPosition: { value: 2, reason: 'another position than now: other holes for every phrase' },
  otherOctave: { value: 2, reason: 'each octave that the tune is moved' },
  otherKey: { value: 1, reason: 'the tune in another key: anyone playing along must follow' },
  lostChordNote: { value: 0.4, reason: 'each note of a chord that is not next to the melody' },
  missing: { value: 40, reason: 'a note that the harp does not have' },
} as const satisfies Record<string, { value: number; reason: string }>;

/** Name of a weight. */
type WeightName = keyof typeof WEIGHT_TABLE;
/** Points by name, each ≥ 0. */
export type Weights = Readonly<Record<WeightName, number>>;

/** The weights of the table. */
export const DEFAULT_WEIGHTS: Weights = weightsOf(WEIGHT_TABLE);

/** A player's own weights (see `parseWeights`). */
export const parseArrangeWeights = (json: unknown): Weights => parseWeights(WEIGHT_TABLE, json);
