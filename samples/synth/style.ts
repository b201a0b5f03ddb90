import type { Range, Rng } from './rng.ts';

/**
 * How somebody plays. A value is drawn from each range for every note; shares are probabilities.
 * Orders of size: attacks, gaps and dips of a hand-labelled real recording (60-120 ms, 40-100 ms, 15-25 dB) at the
 * loose end, tight studio playing at the other; the rest common practice, no source.
 */
export interface PlayingStyle {
  /** Beats (quarter notes) a minute. */
  readonly tempoBpm: number;
  /** Standard deviation of note beginnings around the beat, seconds. */
  readonly timingSec: number;
  /** Time that a 440 Hz reed takes from -40 dB to -3 dB of its level; lower reeds take longer. */
  readonly attackSec: Range;
  /** Time that it takes to die away by 20 dB. */
  readonly releaseSec: Range;
  /** Silence between blow and draw. */
  readonly gapSec: Range;
  /** Depth and whole length of the dip at a tongued repeat. */
  readonly dipDb: Range;
  readonly dipSec: Range;
  /** Share of the dip's fall that is spent at its bottom (0.3 when left out). */
  readonly dipHoldShare?: Range;
  /** Share of repeats made by stopping the air altogether. */
  readonly stopShare: number;
  /** Share of hole changes in one breath that are tongued, not slurred. */
  readonly tongueShare: number;
  readonly slurSec: Range;
  readonly glideSec: Range;
  readonly scoopShare: number;
  /** How far below the note a scoop begins (positive), and how long it takes. */
  readonly scoopCents: Range;
  readonly scoopSec: Range;
  readonly vibratoShare: number;
  readonly vibratoHz: Range;
  /** Peak deviation. */
  readonly vibratoCents: Range;
  readonly tremoloShare: number;
  readonly tremoloHz: Range;
  /** Peak-to-peak depth. */
  readonly tremoloDb: Range;
  /** Standard deviation of natural notes around the reed's pitch. */
  readonly intonationCents: number;
  /** Error of bent and overbent notes. */
  readonly bendErrorCents: Range;
  /** How far low a note speaks before it settles (positive). */
  readonly droopCents: Range;
  readonly driftCentsPerSec: Range;
  /** How far the pitch goes up as a note dies away. */
  readonly releaseRiseCents: Range;
  readonly leakShare: number;
  /** Level of the second reed against the first. */
  readonly leakDb: Range;
  /** Level of breath noise against the note. */
  readonly breathNoiseDb: Range;
  /** Standard deviation of note levels. */
  readonly levelSpreadDb: number;
  /** Slow wander of the player's force over seconds, standard deviation (none when left out). */
  readonly forceWanderDb?: number;
  /** Pause for breath at the end of a phrase. */
  readonly phrasePauseSec: Range;
  /** Share of its length that the last note before a rest or pause sounds. */
  readonly legato: Range;
}

/** A practised player close to a good microphone. */
export const CLEAN: PlayingStyle = {
  tempoBpm: 108,
  timingSec: 0.008,
  attackSec: [0.03, 0.055],
  releaseSec: [0.02, 0.045],
  gapSec: [0.012, 0.04],
  dipDb: [14, 24],
  dipSec: [0.035, 0.06],
  stopShare: 0,
  tongueShare: 0,
  slurSec: [0.015, 0.03],
  glideSec: [0.06, 0.12],
  scoopShare: 0,
  scoopCents: [50, 100],
  scoopSec: [0.08, 0.14],
  vibratoShare: 0.1,
  vibratoHz: [4.5, 6],
  vibratoCents: [5, 15],
  tremoloShare: 0.1,
  tremoloHz: [4, 6],
  tremoloDb: [1.5, 3],
  intonationCents: 4,
  bendErrorCents: [-15, 15],
  droopCents: [5, 15],
  driftCentsPerSec: [-3, 3],
  releaseRiseCents: [2, 7],
  leakShare: 0,
  leakDb: [-30, -20],
  breathNoiseDb: [-55, -45],
  levelSpreadDb: 2,
  phrasePauseSec: [0.12, 0.3],
  legato: [0.75, 0.95],
};

/** Slow ballad playing: scoops, vibrato, tremolo by hand. */
export const BALLAD: PlayingStyle = {
  ...CLEAN,
  tempoBpm: 70,
  timingSec: 0.015,
  attackSec: [0.05, 0.1],
  releaseSec: [0.04, 0.09],
  slurSec: [0.02, 0.04],
  glideSec: [0.1, 0.2],
  scoopShare: 0.35,
  scoopCents: [50, 150],
  scoopSec: [0.08, 0.2],
  vibratoShare: 0.7,
  vibratoHz: [4, 7],
  vibratoCents: [10, 60],
  tremoloShare: 0.6,
  tremoloHz: [3.5, 6.5],
  tremoloDb: [2, 8],
  droopCents: [10, 30],
  driftCentsPerSec: [-6, 6],
  phrasePauseSec: [0.25, 0.6],
};

/** A student: slow attacks, shallow dips, scoops, leaks, breath. */
export const STUDENT: PlayingStyle = {
  ...CLEAN,
  tempoBpm: 92,
  timingSec: 0.02,
  attackSec: [0.05, 0.12],
  releaseSec: [0.03, 0.08],
  gapSec: [0.01, 0.06],
  dipDb: [8, 22],
  dipSec: [0.025, 0.06],
  stopShare: 0.2,
  tongueShare: 0.2,
  slurSec: [0.015, 0.04],
  glideSec: [0.06, 0.2],
  scoopShare: 0.15,
  scoopCents: [50, 130],
  scoopSec: [0.08, 0.18],
  vibratoShare: 0.35,
  vibratoHz: [4, 7],
  vibratoCents: [10, 40],
  tremoloShare: 0.35,
  tremoloHz: [3.5, 6.5],
  tremoloDb: [2, 7],
  intonationCents: 6,
  bendErrorCents: [-45, 45],
  droopCents: [10, 40],
  driftCentsPerSec: [-8, 8],
  releaseRiseCents: [5, 10],
  leakShare: 0.3,
  leakDb: [-28, -8],
  breathNoiseDb: [-45, -30],
  levelSpreadDb: 3,
  phrasePauseSec: [0.2, 0.6],
  legato: [0.6, 0.95],
};

/**
 * An everyday player: tongued repeats of every depth and length (8 to 24 dB in 20 to 60 ms were found in a
 * hand-labelled recording and in takes of other makers), some notes softer than others, a second reed now and then.
 */
export const EVERYDAY: PlayingStyle = {
  ...CLEAN,
  timingSec: 0.014,
  attackSec: [0.03, 0.085],
  releaseSec: [0.02, 0.06],
  gapSec: [0.012, 0.05],
  dipDb: [8, 24],
  dipSec: [0.02, 0.062],
  dipHoldShare: [0.3, 0.65],
  stopShare: 0.1,
  tongueShare: 0.1,
  glideSec: [0.06, 0.18],
  scoopShare: 0.05,
  vibratoShare: 0.2,
  vibratoCents: [5, 30],
  tremoloShare: 0.2,
  tremoloDb: [1.5, 6],
  intonationCents: 5,
  bendErrorCents: [-35, 35],
  droopCents: [5, 30],
  leakShare: 0.1,
  leakDb: [-30, -10],
  breathNoiseDb: [-52, -36],
  levelSpreadDb: 3,
  forceWanderDb: 1.5,
  phrasePauseSec: [0.15, 0.5],
};

/** A student with a phone before them: like STUDENT, with repeats of every depth and force that comes and goes. */
export const HOMEWORK: PlayingStyle = {
  ...STUDENT,
  attackSec: [0.055, 0.13],
  dipDb: [7, 24],
  dipSec: [0.02, 0.062],
  dipHoldShare: [0.3, 0.65],
  levelSpreadDb: 3,
  forceWanderDb: 3.5,
};

/** The same style with its ranges and shares moved a little, so that no two players are alike. */
export function varied(style: PlayingStyle, rng: Rng): PlayingStyle {
  const stretch = (range: Range): Range => {
    const factor = rng.between([0.85, 1.15]);
    return [range[0] * factor, range[1] * factor];
  };
  return {
    ...style,
    tempoBpm: style.tempoBpm * rng.between([0.9, 1.1]),
    attackSec: stretch(style.attackSec),
    releaseSec: stretch(style.releaseSec),
    gapSec: stretch(style.gapSec),
    dipSec: stretch(style.dipSec),
    slurSec: stretch(style.slurSec),
    vibratoShare: Math.min(1, style.vibratoShare * rng.between([0.7, 1.3])),
    tremoloShare: Math.min(1, style.tremoloShare * rng.between([0.7, 1.3])),
  };
}
