import { parseWeights, weightsOf } from '../../weight-table.ts';

/**
 * What each fault costs the music, in points: 1 is a note that is clearly early or late. A teacher puts notes first,
 * then time, then pitch, then tone (common practice, no source); the numbers were chosen so that this order comes out,
 * and so that what happens often comes before what happened once.
 */
const ADVICE_TABLE = {
  wrongNote: { value: 3, reason: 'another note is another tune' },
  missedNote: { value: 3, reason: 'a note that is not there' },
  restart: { value: 3, reason: 'the music stops' },
  octave: { value: 2.5, reason: 'the right name, the wrong place' },
  addedNote: { value: 2, reason: 'an extra note' },
  timeAtTolerance: {
    value: 1,
    reason: 'a note that is early or late by the tolerance; twice as far counts twice, at most three times',
  },
  bendAtTolerance: { value: 0.8, reason: 'a bend that misses by the tolerance and lasts half a second' },
  bendPerTolerance: { value: 1.2, reason: 'more for each tolerance that it misses by beyond that' },
  leakLoud: { value: 0.9, reason: 'a second reed 6 dB below its note, as loud as an accompaniment' },
  breathNoise: { value: 0.4, reason: 'a breathy note' },
  otherHole: { value: 0.2, reason: 'the right pitch from another hole, only when it counts as wrong' },
  tempoPercent: {
    value: 0.5,
    reason: 'each per cent that the tempo changes from beginning to end, beyond the first six',
  },
} as const;

export type AdviceWeights = { readonly [Name in keyof typeof ADVICE_TABLE]: number };

export const ADVICE_WEIGHTS: AdviceWeights = weightsOf(ADVICE_TABLE);

/** A teacher's own weights (see `parseWeights`). */
export const parseAdviceWeights = (json: unknown): AdviceWeights => parseWeights(ADVICE_TABLE, json);
