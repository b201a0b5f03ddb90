export interface SegmentOptions {
  /** Evidence below which nothing is taken to sound, in a take with noise. */
  readonly threshold: number;
  /** Nats for the start of a note. */
  readonly changeCost: number;
  /** Evidence taken off at 100 cents away from the pitch, growing with the square. */
  readonly deviationCost: number;
  /** Widest deviation from its pitch at which a held note is still looked for, in semitones. */
  readonly reachSemitones: number;
  readonly attackReachSemitones: number;
  readonly attackDeviationCost: number;
  readonly attackCost: number;
  readonly ceiling: number;
  /** How much the evidence of the comb and of the network count. */
  readonly combWeight: number;
  readonly networkWeight: number;
  /** How much the network's evidence of an onset lowers the cost of a new note. */
  readonly onsetWeight: number;
  /** Nats for each pitch of a set, and for a shake. */
  readonly severalCost: number;
  /** Nats that each pitch of a set gains in a frame: the network is shy of reeds that sound beside each other. */
  readonly setBias: number;
  readonly shakeCost: number;
}

export const SEGMENT_DEFAULTS: SegmentOptions = {
  threshold: 1.0,
  changeCost: 9,
  deviationCost: 0.8,
  reachSemitones: 1.0,
  attackReachSemitones: 2.2,
  attackDeviationCost: 0.1,
  attackCost: 0.3,
  ceiling: 3,
  combWeight: 1,
  networkWeight: 0.4,
  onsetWeight: 1,
  severalCost: 1.5,
  setBias: 0.5,
  shakeCost: 6,
};
