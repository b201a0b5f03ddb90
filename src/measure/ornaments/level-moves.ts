import type { Hand, Tremolo } from '../../tab/ornament.ts';
import { agreement, BAND_STEP_SEC, type BandLevels } from './bands.ts';
import { type HandMove, handMoves } from './hands.ts';
import { type Swing, SwingFinder } from './swing.ts';

/** Waves of the level that may be a tremolo. */
const WAVES = new SwingFinder(BAND_STEP_SEC, {
  slowestHz: 3,
  fastestHz: 8.5,
  leastDepth: 0.8,
  leastShare: 0.35,
  fewestWaves: 2,
});
/** Rates within this share of each other are the same. */
const SAME_RATE = 0.12;

/** How the level and the brightness of a note move, and what that may be. */
export interface LevelMoves {
  readonly tremolo: Tremolo | null;
  readonly hand: Hand | null;
  /**
   * Evidence for either. Of the wave of the level: depth, share, agreement and number of turns. Of the flutter of the brightness:
   * share, agreement, and change of all, of lower and of upper partials. Of the widest opening: the same changes and agreement,
   * then the number of openings. Then: depth of the vibrato in units of 50 cents, and whether level and brightness move at its
   * rate; octaves above A4, number of audible partials, harmonicity in units of 10 dB, ln of the length. Levels are in units
   * of 10 dB.
   */
  readonly evidence: readonly number[];
}

/** What is known of the note besides its levels. */
interface MovedNote {
  readonly f0Hz: number;
  readonly harmonicityDb: number;
  readonly lengthSec: number;
}

/** @param fromSec,toSec  the part of the note that counts, in seconds from its onset @param vibrato  of its pitch */
export function levelMoves(
  bands: BandLevels,
  [fromSec, toSec]: readonly [number, number],
  vibrato: Swing | null,
  note: MovedNote,
): LevelMoves {
  const first = Math.round(fromSec / BAND_STEP_SEC);
  const wave = WAVES.find(bands.all.slice(first, Math.round(toSec / BAND_STEP_SEC)));
  const { flutter, openings } = handMoves(bands, toSec);
  return {
    tremolo: wave === null ? null : { kind: 'tremolo', rateHz: wave.hz, depthDb: 2 * wave.depth },
    hand: (flutter ?? openings)?.hand ?? null,
    evidence: [
      ...(wave === null
        ? [0, 0, 0, 0]
        : [
            wave.depth / 5,
            wave.share,
            agreement(bands, first + wave.from, first + wave.to),
            Math.log(wave.hz * (wave.to - wave.from) * BAND_STEP_SEC),
          ]),
      flutter?.share ?? 0,
      ...changesOf(flutter),
      ...changesOf(openings),
      openings?.hand.changes ?? 0,
      vibrato === null ? 0 : vibrato.depth / 50,
      goesWith(vibrato, wave?.hz),
      goesWith(vibrato, flutter?.hand.rateHz),
      Math.log2(note.f0Hz / 440),
      Math.log(bands.partials.length),
      note.harmonicityDb / 10,
      Math.log(note.lengthSec),
    ],
  };
}

const changesOf = (move: HandMove | null): number[] =>
  move === null
    ? [0, 0, 0, 0]
    : [move.change.agreement, move.change.all / 10, move.change.low / 10, move.change.high / 10];

/** Whether something moves at the rate of the vibrato: a swinging pitch carries level and brightness with it, above all in a room. */
const goesWith = (vibrato: Swing | null, hz: number | undefined): number =>
  vibrato !== null && hz !== undefined && Math.abs(hz - vibrato.hz) <= SAME_RATE * vibrato.hz ? 1 : 0;
